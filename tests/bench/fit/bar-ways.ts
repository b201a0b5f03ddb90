/**
 * Writes tunes and the ways to bar them, a line of JSON each, for `src/music/rhythm/bars/training/train.py`: tunes of folders of
 * ABC files played with rubato and breaths at any tempo, every tenth left out for reporting, or the songs to develop on. With
 * `--misheard` each is heard as our ear hears takes (`misheard.ts`), and the seed of player and ear is that number.
 *   npx tsx tests/bench/fit/bar-ways.ts FOLDER… [--every N] [--first N] [--songs SEEDS] [--misheard SEED] > WAYS.jsonl
 */
import { basename } from 'node:path';
import { parseArgs } from 'node:util';
import { seededRng } from '../../../samples/synth/rng.ts';
import { breakStrengths } from '../../../src/music/breaks.ts';
import { WAY_FEATURES } from '../../../src/music/rhythm/bars/way-features.ts';
import { findWays } from '../../../src/music/rhythm/bars/ways.ts';
import { plansOf, restedNotes } from '../../../src/music/rhythm/beats.ts';
import { barTicks } from '../../../src/music/rhythm/metre.ts';
import { meanTempo } from '../../../src/music/rhythm/pulses.ts';
import { misheard } from '../music/misheard.ts';
import { scoreTakes } from '../music/score-takes.ts';
import { plannedTakes } from '../songs/takes.ts';

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    every: { type: 'string', default: '1' },
    first: { type: 'string', default: '0' },
    songs: { type: 'string', default: '0' },
    misheard: { type: 'string' },
  },
});

interface Played {
  readonly midi: number;
  readonly onsetSec: number;
  readonly offsetSec: number;
}

const rounded = (values: Iterable<number>): number[] => Array.from(values, (x) => Number(x.toFixed(3)));

function write(source: string, notes: readonly Played[], isDownbeat: readonly boolean[], bpm: number): void {
  const rested = restedNotes(notes);
  const given = { tempoBpm: null, pickupTicks: null, downbeatNote: null };
  const { ways } = findWays(rested, plansOf({}), given, false);
  if (ways.length < 2) return;
  const written = isDownbeat.filter(Boolean).length;
  const tune = {
    source,
    bpm,
    names: WAY_FEATURES,
    midi: notes.map(({ midi }) => Math.round(midi)),
    on: rounded(notes.map(({ onsetSec }) => onsetSec)),
    off: rounded(notes.map(({ offsetSec }) => offsetSec)),
    strengths: rounded(breakStrengths(notes)),
    ways: ways.map(({ features, repeats, read, barred: { plan, atTicks } }) => {
      const found = atTicks.map((at) => at % barTicks(plan.metre) === 0);
      const right = found.filter((is, i) => is && isDownbeat[i]).length;
      return {
        metre: `${plan.metre.count}/${plan.metre.unit}`,
        swung: plan.swung ? 1 : 0,
        bpm: meanTempo(rested, read.path),
        at: atTicks,
        repeats,
        features: rounded(features),
        f1: (2 * right) / Math.max(1, written + found.filter(Boolean).length),
      };
    }),
  };
  console.log(JSON.stringify(tune));
}

/** More than there are tunes in a folder. */
const SEEDS_APART = 100_003;
const every = Number(values.every);
for (const folder of positionals) {
  for (let first = Number(values.first); first < 10 * every; first += every) {
    // Tunes with a 9 at their end are left out.
    if (first % 10 === 9) continue;
    const seed = Number(values.misheard ?? 0);
    for (const [i, take] of scoreTakes(folder, 10 * every, first, true, true, seed).entries()) {
      const rng = seededRng(SEEDS_APART * seed + i).fork(`ear ${first}`);
      const { notes, inBarTicks } = values.misheard === undefined ? take : misheard(take, rng);
      const onBar = inBarTicks.map((at) => at === 0);
      write(basename(folder), notes, onBar, take.tempoBpm);
    }
  }
}
for (const { song, performance, take } of plannedTakes(Number(values.songs))) {
  const bar = (4 * song.metre.count) / song.metre.unit;
  const onBar = performance.atBeats.map((at) => Math.min(at % bar, bar - (at % bar)) < 1e-6);
  write('songs', take.notes, onBar, song.tempoBpm);
}
