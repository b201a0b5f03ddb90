import type { Take } from './schema.ts';

/** The version that this program writes; it reads no newer one. */
export const TAKE_VERSION = 1;

/** The JSON text of a take, ending in a line break. */
export function formatTake(take: Take): string {
  return `${JSON.stringify(take, null, 2)}\n`;
}
