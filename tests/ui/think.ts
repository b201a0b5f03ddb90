/**
 * How long the screen thinks about a key: the change and all rows of 200 × 60 on a take of 2,000 notes that has been heard,
 * without terminal and without waiting: `npx tsx tests/ui/think.ts`. Prints processor time in ms, the median and the least
 * of many, which other programs on the machine hardly change; `speed.ts` times the whole program in a terminal.
 */
import { CANDIDATES } from '../../src/analysis/pitch/frames.ts';
import { findPhrases } from '../../src/music/phrases.ts';
import { buildTake } from '../../src/take/take.ts';
import { reduce } from '../../src/ui/commands/reduce.ts';
import { openState, type UiState } from '../../src/ui/state/state.ts';
import { printLine } from '../../src/ui/view/line.ts';
import { screenLines } from '../../src/ui/view/screen.ts';
import { EXAMPLE_SOURCE } from '../take/example.ts';
import { HARP, notesOf } from './example-take.ts';
import { LONG_LINES } from './long-take.ts';

const SIZE = { columns: 200, rows: 60 };
const TIMES = 15;
const STEP_SEC = 0.01;
const KEYS = [
  'right',
  'down',
  'tab',
  ' ',
  '5',
  'd',
  "'",
  ',',
  's',
  'm',
  'x',
  'u',
  'k',
  '+',
  '6',
  'j',
  'escape',
  'w',
  'escape',
];

const notes = notesOf(LONG_LINES);
const durationSec = (notes.at(-1)?.offsetSec ?? 0) + 1;
const harp = { ...HARP, confidence: 1, alternatives: [] };
const take = buildTake({ ...EXAMPLE_SOURCE, durationSec }, { harp, notes, phrases: findPhrases(notes) });
const count = Math.ceil(durationSec / STEP_SEC);
const midi = new Float32Array(count).fill(Number.NaN);
for (const note of notes)
  midi.fill(note.midi, Math.round(note.onsetSec / STEP_SEC), Math.round(note.offsetSec / STEP_SEC));
const candidateMidi = new Float32Array(CANDIDATES * count);
const track = { stepSec: STEP_SEC, midi, candidateMidi, levelDb: new Float32Array(count).fill(-20) };
// Every hundredth note sounds different from what is written.
const sounds = notes
  .filter((_, i) => i % 100 !== 50)
  .map(({ onsetSec, offsetSec, midi: at, f0Hz }) => ({ onsetSec, offsetSec, midi: at, f0Hz }));
const start: UiState = {
  ...openState('long.take.json', take, {}, true, SIZE),
  recording: 'ready',
  hearing: { track, sounds, harps: [] },
};

const draw = (state: UiState): number =>
  screenLines(state).reduce((sum, line) => sum + printLine(line, { colour: true, unicode: true }).length, 0);
const ownMs = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};
const times = new Map<string, number[]>();
for (let time = 0; time < TIMES; time++) {
  let state = start;
  for (const [i, key] of KEYS.entries()) {
    const before = ownMs();
    ({ state } = reduce(state, { kind: 'key', key, at: '2026-11-25T12:00:00.000Z' }));
    draw(state);
    const name = `${i + 1} ${key}`;
    times.set(name, [...(times.get(name) ?? []), ownMs() - before]);
  }
}
const all: number[] = [];
for (const [name, each] of times) {
  const sorted = each.slice(2).sort((a, b) => a - b);
  const median = sorted[sorted.length >> 1];
  all.push(median);
  process.stdout.write(
    `${name.padEnd(12)} ${median.toFixed(1).padStart(6)} ms, at least ${sorted[0].toFixed(1)}\n`,
  );
}
all.sort((a, b) => a - b);
process.stdout.write(
  `median of all ${all[all.length >> 1].toFixed(1)} ms, at most ${all.at(-1)?.toFixed(1)} ms\n`,
);
