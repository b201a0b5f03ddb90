import { describe, expect, it } from 'vitest';
import { Kernel } from '../../../src/kernel.ts';
import { plansOf } from '../../../src/music/rhythm/beats.ts';
import { type PlanPrior, readOnGrids } from '../../../src/music/rhythm/metrical-hmm.ts';
import {
  PULSE_WEIGHT,
  TEMPO_KEEP,
  TEMPO_MOVE,
  tempoScore,
  tempoStates,
} from '../../../src/music/rhythm/tempo.ts';
import { LONGEST_TICKS, NOT_AHEAD, SLIP, TimeScores } from '../../../src/music/rhythm/time-scores.ts';

const ANY = { tempoBpm: null };

interface Onset {
  readonly onsetSec: number;
  readonly restSec: number;
}

/** A state that was reached: its tempo and place, the lead of its clock, and its score. */
interface Reached {
  readonly tempo: number;
  readonly place: number;
  readonly ahead: number;
  readonly score: number;
}

/** The best log score of a plan, by plain decoding of all states, none of them dropped. */
function bestScore(onsets: readonly Onset[], { plan, steps }: PlanPrior): number {
  const tempos = tempoStates();
  const times = new TimeScores(new Kernel(TimeScores.bytesFor(tempos.length)), tempos);
  const total = plan.onsetShare.reduce((sum, share) => sum + share, 0);
  let states: Reached[] = tempos.flatMap((beatSec, tempo) =>
    plan.places.map((_, place) => ({
      tempo,
      place,
      ahead: NOT_AHEAD,
      score: tempoScore(beatSec, plan, ANY) + Math.log(plan.onsetShare[place] / total),
    })),
  );
  for (let n = 1; n < onsets.length; n++) {
    times.begin(onsets[n].onsetSec - onsets[n - 1].onsetSec, onsets[n].restSec);
    const moved = new Map<string, Reached>();
    const keep = (into: Map<string, Reached>, state: Reached): void => {
      const key = `${state.tempo} ${state.place}`;
      if (state.score > (into.get(key)?.score ?? Number.NEGATIVE_INFINITY)) into.set(key, state);
    };
    for (const state of states) {
      for (const tempo of [state.tempo - 1, state.tempo, state.tempo + 1]) {
        if (tempo < 0 || tempo >= tempos.length) continue;
        const change = tempo === state.tempo ? TEMPO_KEEP : TEMPO_MOVE;
        const score = state.score + change + PULSE_WEIGHT * tempoScore(tempos[tempo], plan, ANY);
        keep(moved, { ...state, tempo, score });
      }
    }
    const next = new Map<string, Reached>();
    for (const { tempo, place, ahead, score } of moved.values()) {
      const rests = onsets[n].restSec > 0;
      const row = times.know(tempo, rests ? NOT_AHEAD : ahead);
      const logProb = rests ? steps.logProbRest : steps.logProb;
      for (let a = steps.begin[place]; a < steps.begin[place + 1]; a++) {
        const ticks = steps.ticks[a];
        if (ticks < times.withSlips.fewest[row] || ticks > times.withSlips.most[row]) continue;
        const at = row * (LONGEST_TICKS + 1) + ticks;
        const reached = score + logProb[a] + times.scores[at];
        keep(next, { tempo, place: steps.place[a], ahead: times.ahead[at], score: reached });
      }
    }
    states = [...next.values()];
  }
  return Math.max(...states.map(({ score }) => score));
}

/** Onsets of notes of these lengths in beats, each up to 20 ms early or late; a negative one is followed by a rest of a third of it. */
function onsetsOf(lengths: readonly number[], beatSec: number): Onset[] {
  let atSec = 1;
  let restSec = 0;
  return lengths.map((length, n) => {
    const onset = { onsetSec: atSec + 0.02 * Math.sin(7 * n), restSec };
    atSec += Math.abs(length) * beatSec;
    restSec = length < 0 ? (Math.abs(length) * beatSec) / 3 : 0;
    return onset;
  });
}

describe('onsets on the grids of bars', () => {
  const tunes: [string, number[], number][] = [
    ['quarters and eighths', [1, 0.5, 0.5, 1, 1, 0.5, 0.5, -2, 1, 1, 0.5, 0.5, 1], 0.5],
    ['a waltz', [2, 1, 2, 1, 1, 1, 1, -3, 2, 1, 3], 0.42],
    ['eighths of a jig', [0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 1, 0.5, -1.5, 1, 0.5, 1.5], 0.4],
  ];

  it.each(tunes)('are read as plain decoding of all states reads them: %s', (_, lengths, beatSec) => {
    const onsets = onsetsOf(lengths, beatSec);
    const plans = plansOf({});
    const read = readOnGrids(onsets, plans, ANY);
    const scores = read.flatMap((path, i) => (path === null ? [] : [path.logLik + plans[i].logPrior]));
    const i = read.findIndex(
      (path, p) => path !== null && path.logLik + plans[p].logPrior === Math.max(...scores),
    );
    expect(read[i]?.logLik).toBeCloseTo(bestScore(onsets, plans[i]), 9);
    expect(read[i]?.atTicks).toHaveLength(onsets.length);
    for (let n = 1; n < onsets.length; n++)
      expect(read[i]!.atTicks[n]).toBeGreaterThan(read[i]!.atTicks[n - 1]);
    expect(read[i]!.logLik).toBeGreaterThan(SLIP * onsets.length);
  });
});
