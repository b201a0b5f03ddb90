/**
 * Words, lines and bars on songs (`songs/`), played with rubato and breaths:
 *   npm run bench:words -- [--sound N] [--seeds N] [--list]
 * The notes are those that were played; with --sound N, one take in N is rendered, roughened and transcribed as well.
 */
import { parseArgs } from 'node:util';
import { PROOF_SONGS } from '../songs/proof-songs.ts';
import { SONGS } from '../songs/songs.ts';
import { tables, tallied } from '../songs/table.ts';
import { heardTakes, plannedTakes } from '../songs/takes.ts';

const { values } = parseArgs({
  options: {
    sound: { type: 'string', default: '0' },
    seeds: { type: 'string', default: '2' },
    list: { type: 'boolean', default: false },
  },
});

const list = values.list ? (line: string) => console.log(line) : () => {};
const sets = [
  ['Twelve songs that were developed on', SONGS],
  ['Six songs that nothing was tuned on', PROOF_SONGS],
] as const;
for (const [name, songs] of sets) {
  const planned = await tallied(plannedTakes(Number(values.seeds), songs), list);
  console.log(`${name}: notes as played\n${tables(planned)}\n`);
  if (Number(values.sound) === 0) continue;
  const heard = await tallied(heardTakes(Number(values.sound), songs), list);
  console.log(`${name}: from recordings in rooms and by telephone\n${tables(heard)}\n`);
}
