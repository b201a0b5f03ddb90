/**
 * Tunes of ABC and MusicXML files as we read them, compared with music21 (`pip install music21`), note by note: pitch, onset
 * and length; files are sorted by what differs.
 *   npx tsx tests/bench/peers/foreign-scores.ts FOLDER… [--most N] [--python PROGRAM] [--list]
 * Its own corpus will do: `python -c "from music21 import corpus; print(corpus.getCorePaths()[0])"`.
 */
import { spawn } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { extname, join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { readAbc } from '../../../src/music/reading/abc/abc.ts';
import { readMusicXml } from '../../../src/music/reading/musicxml/musicxml.ts';
import { textTable } from '../scores/table.ts';

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    most: { type: 'string', default: '200' },
    python: { type: 'string', default: 'python3' },
    list: { type: 'boolean', default: false },
  },
});
const SCRIPT = fileURLToPath(new URL('music21-tunes.py', import.meta.url));
const KINDS = ['.abc', '.xml', '.musicxml', '.mxl'];
/** Onsets and lengths nearer than this, in quarter notes, are one. */
const NEAR_BEATS = 0.03;
/** A score of an hour is no tune. */
const MOST_BYTES = 1_000_000;

type Sound = readonly [midi: number, onsetBeats: number, lengthBeats: number];
interface Answer {
  readonly path: string;
  readonly parts?: readonly { readonly name: string; readonly notes: readonly Sound[] }[];
  readonly error?: string;
}

/** As many files as are wanted, spread evenly over each kind in each folder. */
function chosen(): string[] {
  const groups = positionals.flatMap((folder) => {
    const files = readdirSync(folder, { recursive: true, encoding: 'utf8' }).sort();
    return KINDS.map((kind) =>
      files.filter((file) => extname(file) === kind).map((file) => join(folder, file)),
    );
  });
  const full = groups.filter((group) => group.length > 0);
  const each = Math.ceil(Number(values.most) / Math.max(1, full.length));
  return full
    .flatMap((group) =>
      group.filter((_, i) => i % Math.max(1, Math.floor(group.length / each)) === 0).slice(0, each),
    )
    .slice(0, Number(values.most));
}

function ours(path: string): Sound[] {
  const bytes = readFileSync(path);
  const { notes } = extname(path) === '.abc' ? readAbc(bytes, path) : readMusicXml(bytes, path);
  return notes.map(({ midi, onsetBeats, durationBeats }) => [midi, onsetBeats, durationBeats]);
}

const near = (a: number, b: number): boolean => Math.abs(a - b) < NEAR_BEATS;

/** How many notes of ours are theirs, in pitch and onset, and of those in length, too. */
function compare(mine: readonly Sound[], theirs: readonly Sound[]) {
  // A pick-up may stand before the first full bar or after a rest.
  const offset = (theirs[0]?.[1] ?? 0) - (mine[0]?.[1] ?? 0);
  let k = 0;
  let placed = 0;
  let whole = 0;
  for (const [midi, onset, length] of mine) {
    while (k < theirs.length && theirs[k][1] < onset + offset - NEAR_BEATS) k++;
    const other = theirs[k];
    if (other === undefined || !near(other[1], onset + offset) || other[0] !== midi) continue;
    placed++;
    if (near(other[2], length)) whole++;
  }
  return { placed, whole, most: Math.max(mine.length, theirs.length) };
}

const files = chosen();
const small = files.filter((file) => readFileSync(file).length < MOST_BYTES);
const music21 = spawn(values.python, [SCRIPT], { stdio: ['pipe', 'pipe', 'inherit'] });
music21.on('error', (error) => process.stderr.write(`music21 can't be run: ${error.message}\n`));
music21.stdin.end(small.join('\n'));
const rows = [
  ['kind', 'files', 'all alike', 'but lengths', 'other notes', 'refused', 'by music21', 'notes alike'],
];
const tallies = new Map<string, number[]>();
for await (const line of createInterface({ input: music21.stdout })) {
  const { path, parts, error: failed } = JSON.parse(line) as Answer;
  const tally = tallies.get(extname(path)) ?? new Array<number>(8).fill(0);
  tallies.set(extname(path), tally);
  tally[0]++;
  if (parts === undefined) {
    tally[5]++;
    if (values.list) console.log(`${path}: music21: ${failed}`);
    continue;
  }
  try {
    const mine = ours(path);
    const fits = parts.map(({ notes }) => compare(mine, notes));
    const best = fits.reduce((a, b) => (b.placed / b.most > a.placed / a.most ? b : a));
    tally[6] += best.whole;
    tally[7] += best.most;
    const isSame = best.placed === best.most;
    tally[isSame ? (best.whole === best.most ? 1 : 2) : 3]++;
    if (values.list && best.whole < best.most)
      console.log(
        `${path}: ${best.placed} placed, ${best.whole} as long, of ${best.most} (ours ${mine.length})`,
      );
  } catch (refusal) {
    tally[4]++;
    if (values.list) console.log(`${path}: refused: ${(refusal as Error).message}`);
  }
}
for (const [kind, [count, all, lengths, other, refused, theirs, notes, most]] of tallies)
  rows.push([kind, ...[count, all, lengths, other, refused, theirs].map(String), `${notes} of ${most}`]);
console.log(textTable(rows));
