/**
 * Words, lines and bars on the proof set of songs (`songs/songs.ts`), played with rubato and breaths:
 *   npx tsx tests/bench/music/words.ts [--sound N] [--seeds N] [--list]
 * The notes are those that were played; with --sound N, one take in N is rendered, roughened and transcribed as well.
 */
import { parseArgs } from 'node:util';
import { type Tally, tables, tallied } from '../songs/table.ts';
import { heardTakes, plannedTakes } from '../songs/takes.ts';

const { values } = parseArgs({
  options: {
    sound: { type: 'string', default: '0' },
    seeds: { type: 'string', default: '2' },
    list: { type: 'boolean', default: false },
  },
});

const list = values.list ? (line: string) => console.log(line) : () => {};
const tally: Tally = await tallied(plannedTakes(Number(values.seeds)), list);
console.log(`Notes as played\n${tables(tally)}`);
if (Number(values.sound) > 0) {
  const heard: Tally = await tallied(heardTakes(Number(values.sound)), list);
  console.log(`\nFrom recordings in rooms and by telephone\n${tables(heard)}`);
}
