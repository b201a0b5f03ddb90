/**
 * Writes tunes and the ways to bar them, a line of JSON each, for `src/music/rhythm/bars/training/train.py`: tunes of
 * folders of ABC files played with rubato and breaths at any tempo, or the songs to develop on. Every tenth tune is
 * left out for reporting, and so is any that goes like one of those or like one of the folders given by `--unlike`.
 * With `--misheard` each is altered as transcription would mishear it (`misheard.ts`), with `--heard` rendered and
 * transcribed; the number is the seed of the player and of what is misheard.
 *   npx tsx tests/bench/fit/bar-ways.ts FOLDER… [--every N] [--first N] [--seeds N] [--unlike FOLDER]… [--songs SEEDS]
 *       [--misheard SEED | --heard SEED] > WAYS.jsonl
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
import { type HeardTake, heardTake, SCENE_COUNT } from '../music/heard-tunes.ts';
import { misheard } from '../music/misheard.ts';
import { type ScoreTake, scoreTakes } from '../music/score-takes.ts';
import { scoresOf } from '../music/scores.ts';
import { plannedTakes } from '../songs/takes.ts';

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    every: { type: 'string', default: '1' },
    first: { type: 'string', default: '0' },
    seeds: { type: 'string', default: '1' },
    songs: { type: 'string', default: '0' },
    misheard: { type: 'string' },
    heard: { type: 'string' },
    unlike: { type: 'string', multiple: true, default: [] },
  },
});

interface Played {
  readonly midi: number;
  readonly onsetSec: number;
  readonly offsetSec: number;
}

const rounded = (values: Iterable<number>): number[] => Array.from(values, (x) => Number(x.toFixed(3)));

/** A tune as it was played and, if so, heard. */
interface Heard {
  readonly source: string;
  readonly name: string;
  readonly bpm: number;
  readonly notes: readonly Played[];
  readonly isDownbeat: readonly boolean[];
}

function write({ source, name, bpm, notes, isDownbeat }: Heard): void {
  const rested = restedNotes(notes);
  const given = { tempoBpm: null, pickupTicks: null, downbeatNote: null };
  const { ways } = findWays(rested, plansOf({}), given, false);
  if (ways.length < 2) return;
  const written = isDownbeat.filter(Boolean).length;
  const tune = {
    source,
    name,
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

/**
 * Number of consecutive steps of pitch that make one place of a tune, and the share of shared places from which two
 * tunes count as alike.
 */
const ALIKE_STEPS = 10;
const ALIKE_SHARE = 0.3;

function placesOf(notes: readonly { readonly midi: number }[]): string[] {
  const steps = notes.slice(1).map(({ midi }, i) => midi - notes[i].midi);
  return steps.slice(ALIKE_STEPS - 1).map((_, i) => steps.slice(i, i + ALIKE_STEPS).join(' '));
}

const leftOut = new Set<string>();
for (const folder of positionals)
  for (const { notes } of scoresOf(folder, 10, 9)) for (const place of placesOf(notes)) leftOut.add(place);
for (const folder of values.unlike)
  for (const { notes } of scoresOf(folder, 1, 0)) for (const place of placesOf(notes)) leftOut.add(place);

function goesLikeOneLeftOut(take: ScoreTake): boolean {
  const places = placesOf(take.notes);
  return places.filter((place) => leftOut.has(place)).length > ALIKE_SHARE * places.length;
}

/** More than there are tunes in a folder. */
const SEEDS_APART = 100_003;
const every = Number(values.every);
const seed = Number(values.heard ?? values.misheard ?? 0);

async function hear(take: ScoreTake, i: number, first: number): Promise<HeardTake | null> {
  if (values.heard !== undefined) return heardTake(take, (first + i) % SCENE_COUNT, SEEDS_APART * seed + i);
  if (values.misheard === undefined) return take;
  return misheard(take, seededRng(SEEDS_APART * seed + i).fork(`ear ${first}`));
}

async function play(folder: string, player: number): Promise<void> {
  for (let first = Number(values.first); first < 10 * every; first += every) {
    // Tunes with a 9 at their end are left out.
    if (first % 10 === 9) continue;
    for (const [i, take] of scoreTakes(folder, 10 * every, first, true, true, player).entries()) {
      const heard = goesLikeOneLeftOut(take) ? null : await hear(take, i, first);
      if (heard === null) continue;
      const isDownbeat = heard.inBarTicks.map((at) => at === 0);
      const { name, tempoBpm } = take;
      write({ source: basename(folder), name, bpm: tempoBpm, notes: heard.notes, isDownbeat });
    }
  }
}
for (let player = seed; player < seed + Number(values.seeds); player++)
  for (const folder of positionals) await play(folder, player);
for (const { song, performance, take } of plannedTakes(Number(values.songs))) {
  const bar = (4 * song.metre.count) / song.metre.unit;
  const isDownbeat = performance.atBeats.map((at) => Math.min(at % bar, bar - (at % bar)) < 1e-6);
  write({ source: 'songs', name: song.name, bpm: song.tempoBpm, notes: take.notes, isDownbeat });
}
