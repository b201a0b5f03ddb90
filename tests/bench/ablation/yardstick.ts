/** What a change of a constant is measured by. */
export interface Yardstick {
  /** What was looked at, such as `4 takes`. */
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
  /** All that was found, as text, take by take, to see what changed. */
  readonly told: readonly (readonly string[])[];
}

/** As text, to six digits. */
export const inShort = (value: unknown): string =>
  JSON.stringify(value, (_, each) => (typeof each === 'number' ? Number(each.toPrecision(6)) : each));

/** How many things are not as usual, of the usual ones and the new. */
export function changed(usual: Result, now: Result): number {
  return now.told.reduce((sum, each, t) => {
    const before = new Set(usual.told[t]);
    const after = new Set(each);
    const gone = usual.told[t].filter((one) => !after.has(one)).length;
    return sum + Math.max(each.filter((one) => !before.has(one)).length, gone);
  }, 0);
}
