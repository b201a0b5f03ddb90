/**
 * Words, lines and bars on songs (`songs/`), played with rubato and breaths:
 *   npm run bench:words -- [--sound N] [--seeds N] [--list]
 * The notes are those that were played; with --sound N, one take in N is rendered, roughened and transcribed as well.
 */
import { parseArgs } from 'node:util';
import { songsReport } from '../songs/report.ts';

const { values } = parseArgs({
  options: {
    sound: { type: 'string', default: '0' },
    seeds: { type: 'string', default: '2' },
    list: { type: 'boolean', default: false },
  },
});

const list = values.list ? (line: string) => console.log(line) : () => {};
console.log(await songsReport(Number(values.seeds), Number(values.sound), list));
