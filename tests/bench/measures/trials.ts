import { type PlannedNote, planTake } from '../../../samples/synth/plan.ts';
import { seededRng } from '../../../samples/synth/rng.ts';
import type { Degradation } from '../../../samples/synth/scene/roughen.ts';
import { CLEAN, type PlayingStyle } from '../../../samples/synth/style.ts';
import type { TruthNote } from '../../../samples/synth/truth.ts';
import { parseTune } from '../../../samples/synth/tune.ts';
import { walk } from '../../../samples/synth/walk.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { HARP_KEYS } from '../../../src/harp/keys.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';
import { transcribe } from '../../../src/pipeline.ts';
import type { Note } from '../../../src/tab/note.ts';
import { quantile as quantileOf } from '../scores/measure.ts';
import { planned, RATE } from './planned-sound.ts';

const NOTES = 40;
const MATCH_SEC = 0.06;

/** NaN of nothing, so that it shows. */
export const quantile = (values: readonly number[], share: number): number =>
  quantileOf(values, share) ?? Number.NaN;

/** A note as it was planned, as it sounded, and as it was measured. */
export interface Trial {
  readonly planned: PlannedNote;
  readonly truth: TruthNote;
  readonly found: Note;
}

export interface TrialTake {
  readonly trials: readonly Trial[];
  /** Notes found with another hole, or not at all. */
  readonly lost: number;
  readonly samples: Float32Array;
}

/** Plays one take as planned and hears it, with A4 and temperament told or estimated from the take. */
export async function play(
  style: PlayingStyle,
  degradation: Degradation,
  seed: number,
  bendShare: number,
  a4Told = true,
): Promise<TrialTake> {
  const rng = seededRng(seed);
  const harp: HarpSpec = {
    key: HARP_KEYS[seed % HARP_KEYS.length],
    tuning: 'richter',
    temperament: 'equal',
    a4Hz: 440,
  };
  const playable = playableNotes(harp);
  const tab = walk(
    playable,
    { notes: NOTES, beats: [1, 1, 2], bendShare, overShare: 0, repeatShare: 0.1, holes: [1, 10] },
    rng.fork('tune'),
  );
  const plan = planTake(parseTune(tab), playable, style, rng.fork('plan'));
  const { samples, notes } = planned(plan, harp, style.tempoBpm, degradation, rng);
  const found = (
    await transcribe(
      Samples.from(samples, RATE),
      a4Told ? { harp: harp.key, a4Hz: 440, temperament: 'equal' } : { harp: harp.key },
    )
  ).notes;
  const trials = notes.flatMap((truth, i): Trial[] => {
    const note = found.find(
      (candidate) =>
        Math.abs(candidate.onsetSec - truth.onsetSec) < MATCH_SEC &&
        candidate.hole === truth.hole &&
        candidate.breath === truth.breath &&
        candidate.bend === truth.bend,
    );
    return note === undefined ? [] : [{ planned: plan[i], truth, found: note }];
  });
  return { trials, lost: notes.length - trials.length, samples };
}

export async function playMany(
  style: PlayingStyle,
  degradation: Degradation,
  takes: number,
  bendShare = 0.2,
  a4Told = true,
): Promise<Trial[]> {
  const all: Trial[] = [];
  for (let seed = 0; seed < takes; seed++)
    all.push(...(await play(style, degradation, 100 + seed, bendShare, a4Told)).trials);
  return all;
}

/** Notes that are held as straight as a player can. */
export const still: PlayingStyle = {
  ...CLEAN,
  vibratoShare: 0,
  tremoloShare: 0,
  tempoBpm: 84,
  driftCentsPerSec: [0, 0],
  droopCents: [0, 5],
};
