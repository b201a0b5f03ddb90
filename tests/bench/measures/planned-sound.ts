import type { PlannedNote } from '../../../samples/synth/plan.ts';
import { renderTake } from '../../../samples/synth/render.ts';
import type { Rng } from '../../../samples/synth/rng.ts';
import { peakTo } from '../../../samples/synth/scene/degrade.ts';
import { type Degradation, roughened } from '../../../samples/synth/scene/roughen.ts';
import { randomTimbre } from '../../../samples/synth/timbre.ts';
import { type TruthNote, truthHarp, truthNotes } from '../../../samples/synth/truth.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';

/** Of the sound, in samples per second. */
export const RATE = 22_050;
/** Of full scale. */
const PEAK = 0.6;

/** A planned take as sound in a room, and what is true of its notes. The same generator gives the same. */
export function planned(
  plan: readonly PlannedNote[],
  harp: HarpSpec,
  tempoBpm: number,
  degradation: Degradation,
  rng: Rng,
): { readonly samples: Float32Array; readonly notes: readonly TruthNote[] } {
  const take = renderTake(plan, randomTimbre(rng.fork('timbre')), RATE, rng.fork('render'));
  const notes = truthNotes(take, harp.a4Hz);
  const truth = {
    audio: '',
    harp: truthHarp(harp, playableNotes(harp)),
    category: '',
    seed: 0,
    tab: '',
    tempoBpm,
    degradation: {},
    talkSec: [],
    notes,
  };
  const clean = { samples: take.samples, sampleRate: RATE, truth };
  const { samples } = roughened(clean, degradation, rng.fork('rough'));
  return { samples: peakTo(samples, PEAK), notes };
}
