import { LATER_SONGS } from './later-songs.ts';
import { PROOF_SONGS } from './proof-songs.ts';
import { SONGS } from './songs.ts';
import { tables, tallied } from './table.ts';
import { heardTakes, plannedTakes } from './takes.ts';

const SETS = [
  ['Twelve songs that were developed on', SONGS],
  ['Six songs that no cost was set on', PROOF_SONGS],
  ['Three songs that were added later', LATER_SONGS],
] as const;

/**
 * Words, lines and bars on songs played with rubato and breaths, as tables.
 * @param sound  one take in so many is rendered, roughened and transcribed as well; 0 for none
 */
export async function songsReport(
  seeds: number,
  sound: number,
  list: (line: string) => void,
): Promise<string> {
  const parts: string[] = [];
  for (const [name, songs] of SETS) {
    const planned = await tallied(plannedTakes(seeds, songs), list);
    parts.push(`${name}: notes as played\n${tables(planned)}`);
    if (sound === 0) continue;
    const heard = await tallied(heardTakes(sound, songs), list);
    parts.push(`${name}: from recordings in rooms and by telephone\n${tables(heard)}`);
  }
  return parts.join('\n\n');
}
