/** A measure of what changing a constant does. */
export interface Yardstick {
  /** What was used, such as `4 takes`. */
  readonly of: string;
  /** The modules that it runs; paths of built files. */
  readonly entries: readonly string[];
  /** Names of its scores. */
  readonly scores: readonly string[];
  /**
   * @param load  gives a module with the change
   * @param reaches  whether the change can reach a module
   */
  measure(load: Load, reaches: (path: string) => boolean): Promise<Result>;
}

export type Load = <Module>(path: string) => Promise<Module>;

export interface Result {
  readonly scores: readonly number[];
  /** All results as text, take by take, to see what changed. */
  readonly told: readonly (readonly string[])[];
}

/** As text, to six digits. */
export const inShort = (value: unknown): string =>
  JSON.stringify(value, (_, each) => (typeof each === 'number' ? Number(each.toPrecision(6)) : each));

/** How many results differ, counting both the usual ones and the new. */
export function changed(usual: Result, now: Result): number {
  return now.told.reduce((sum, each, t) => {
    const before = new Set(usual.told[t]);
    const after = new Set(each);
    const gone = usual.told[t].filter((one) => !after.has(one)).length;
    return sum + Math.max(each.filter((one) => !before.has(one)).length, gone);
  }, 0);
}
