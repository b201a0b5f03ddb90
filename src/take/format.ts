import type { Take } from './schema.ts';

/** The JSON text of a take, ending in a line break. */
export function formatTake(take: Take): string {
  return `${JSON.stringify(take, null, 2)}\n`;
}
