import { type Arc, type Lattice, viterbi } from '../../../decode/viterbi.ts';
import type { Frames } from '../../pitch/frames.ts';
import type { PitchState, ReedSet, Segment } from '../states.ts';
import { joinSegments } from './join-segments.ts';
import { Observer } from './observer.ts';
import { SEGMENT_DEFAULTS, type SegmentOptions } from './segment-options.ts';
import { attackState, firstSet, heldState, isAttack, pitchOf, SILENCE } from './segment-states.ts';

/**
 * The most likely sequence of pitches, sets of pitches and silences, decoded over all frames at once. Each pitch has an attack
 * state, in which it may still be rising (a scoop), and a held state, around which it may swing (vibrato). The note states
 * follow Mauch et al., "Computer-aided melody note transcription using the Tony software" (TENOR 2015), but the pitches, and
 * the sets of reeds that one breath can sound, come from the instrument instead of a free scale.
 */
export function segment(
  frames: Frames,
  pitches: readonly PitchState[],
  sets: readonly ReedSet[] = [],
  options: SegmentOptions = SEGMENT_DEFAULTS,
): Segment[] {
  return joinSegments(decodeSegments(frames, pitches, sets, options), frames, sets);
}

/** How well pitches and sets of pitches explain all frames: the log score of their most likely sequence, in nats. */
export function explanation(
  frames: Frames,
  pitches: readonly PitchState[],
  sets: readonly ReedSet[],
): number {
  return bestPath(frames, pitches, sets, SEGMENT_DEFAULTS).score;
}

function bestPath(
  frames: Frames,
  pitches: readonly PitchState[],
  sets: readonly ReedSet[],
  options: SegmentOptions,
): { readonly path: Int32Array; readonly score: number } {
  const observer = new Observer(frames, pitches, sets, options);
  return viterbi(
    frames.count,
    noteLattice(pitches, sets, options),
    (t, scores) => observer.observe(t, scores),
    (_, scores) => observer.enter(scores),
  );
}

function decodeSegments(
  frames: Frames,
  pitches: readonly PitchState[],
  sets: readonly ReedSet[],
  options: SegmentOptions,
): Segment[] {
  const { path } = bestPath(frames, pitches, sets, options);
  const segments: Segment[] = [];
  let from = 0;
  for (let t = 1; t <= frames.count; t++) {
    const before = path[t - 1];
    if (t < frames.count && isSameNote(before, path[t], pitches.length)) continue;
    if (before !== SILENCE) {
      const set = sets[before - firstSet(pitches.length)];
      const midi = set === undefined ? pitches[pitchOf(before)].midi : set.midis[0];
      segments.push({ midi, fromFrame: from, toFrame: t, ...(set === undefined ? {} : { set }) });
    }
    from = t;
  }
  return segments;
}

function isSameNote(before: number, state: number, pitches: number): boolean {
  if (before >= firstSet(pitches) || state >= firstSet(pitches)) return before === state;
  return pitchOf(state) === pitchOf(before) && !(isAttack(state) && !isAttack(before));
}

function setCost({ midis, bends, shake }: ReedSet, options: SegmentOptions): number {
  if (shake) return options.shakeCost;
  return options.severalCost * midis.length + (bends === undefined ? 0 : options.bentSetCost);
}

function noteLattice(
  pitches: readonly PitchState[],
  sets: readonly ReedSet[],
  options: SegmentOptions,
): Lattice {
  const arcs: Arc[][] = [[{ from: SILENCE, score: 0 }]];
  const start = new Float64Array(firstSet(pitches.length) + sets.length).fill(Number.NEGATIVE_INFINITY);
  start[SILENCE] = 0;
  const to = [{ state: SILENCE, score: 0 }];
  pitches.forEach((pitch, i) => {
    const begin = -(options.changeCost + pitch.cost);
    arcs[attackState(i)] = [{ from: attackState(i), score: 0 }];
    arcs[heldState(i)] = [
      { from: heldState(i), score: 0 },
      { from: attackState(i), score: 0 },
    ];
    for (const state of [attackState(i), heldState(i)]) {
      to.push({ state, score: begin });
      start[state] = begin;
    }
  });
  const setStates = sets.map((_, j) => firstSet(pitches.length) + j);
  sets.forEach((set, j) => {
    const begin = -(options.changeCost + setCost(set, options));
    arcs[setStates[j]] = [{ from: setStates[j], score: 0 }];
    to.push({ state: setStates[j], score: begin });
    start[setStates[j]] = begin;
  });
  return { arcs, start, hub: { from: [SILENCE, ...pitches.map((_, i) => heldState(i)), ...setStates], to } };
}
