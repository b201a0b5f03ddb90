import { ReedtraceError } from './errors.ts';

/** Default weights, with the reason for each. */
export type WeightTable<Name extends string = string> = Readonly<
  Record<Name, { readonly value: number; readonly reason: string }>
>;

/** The weights of a table by name. */
export function weightsOf<Name extends string>(table: WeightTable<Name>): Readonly<Record<Name, number>> {
  const entries = Object.entries<{ value: number }>(table);
  return Object.fromEntries(entries.map(([name, { value }]) => [name, value])) as Record<Name, number>;
}

/**
 * Reads a player's own weights, which replace those of the table: `{ "blowBend1": 1, "overbend": 3 }`.
 * @param json  the parsed JSON value
 * @returns all weights of the table, each ≥ 0
 * @throws ReedtraceError E_USAGE that names the weight
 */
export function parseWeights<Name extends string>(
  table: WeightTable<Name>,
  json: unknown,
): Readonly<Record<Name, number>> {
  const fault = (message: string): ReedtraceError =>
    new ReedtraceError('E_USAGE', message, `use any of ${Object.keys(table).join(', ')}`);
  if (typeof json !== 'object' || json === null || Array.isArray(json)) {
    throw fault('the weights are not a JSON object');
  }
  for (const [name, value] of Object.entries(json)) {
    if (!Object.hasOwn(table, name)) throw fault(`no weight is called '${name}'`);
    if (typeof value !== 'number' || !(value >= 0 && Number.isFinite(value))) {
      throw fault(`weight '${name}': ${JSON.stringify(value)} is not a number of 0 or more`);
    }
  }
  return { ...weightsOf(table), ...json };
}
