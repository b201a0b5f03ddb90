import { playableNotes } from '../../src/harp/playable.ts';
import type { HarpSpec } from '../../src/harp/types.ts';
import { planTake } from './plan.ts';
import { renderTake } from './render.ts';
import { seededRng } from './rng.ts';
import type { PlayingStyle } from './style.ts';
import { randomTimbre } from './timbre.ts';
import { type TakeTruth, truthHarp, truthNotes } from './truth.ts';
import { parseTune } from './tune.ts';

/** What to play, on which harp, and how. */
export interface TakeSpec {
  readonly name: string;
  readonly category: string;
  readonly harp: HarpSpec;
  /** Tab with lengths, as `parseTune` reads it. */
  readonly tab: string;
  readonly style: PlayingStyle;
  readonly seed: number;
}

export interface SynthTake {
  readonly samples: Float32Array;
  readonly sampleRate: number;
  readonly truth: TakeTruth;
}

/** Plays a tune on a synthetic harp. The same spec gives the same samples. */
export function synthesise(spec: TakeSpec, sampleRate = 44100): SynthTake {
  const rng = seededRng(spec.seed);
  const playable = playableNotes(spec.harp);
  const plan = planTake(parseTune(spec.tab), playable, spec.style, rng.fork('plan'));
  const take = renderTake(plan, randomTimbre(rng.fork('timbre')), sampleRate, rng.fork('render'));
  return {
    samples: take.samples,
    sampleRate,
    truth: {
      audio: `${spec.name}.wav`,
      harp: truthHarp(spec.harp, playable),
      category: spec.category,
      seed: spec.seed,
      tab: spec.tab,
      tempoBpm: Math.round(spec.style.tempoBpm * 10) / 10,
      degradation: {},
      talkSec: [],
      notes: truthNotes(take, spec.harp.a4Hz),
    },
  };
}
