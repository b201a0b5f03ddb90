import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Observer } from '../../../src/analysis/notes/decoding/observer.ts';
import { SEGMENT_DEFAULTS } from '../../../src/analysis/notes/decoding/segment-options.ts';
import {
  attackState,
  firstSet,
  heldState,
  SILENCE,
} from '../../../src/analysis/notes/decoding/segment-states.ts';
import { harpPitches, reedSets } from '../../../src/analysis/notes/pitches.ts';
import {
  emptyEvidence,
  keepEvidence,
  ROWS,
  rowOf,
  shakeAt,
  soundingAt,
} from '../../../src/analysis/pitch/evidence.ts';
import { CANDIDATES, type Frames } from '../../../src/analysis/pitch/frames.ts';
import { playableNotes } from '../../../src/harp/playable.ts';

const NOTES = playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 });
const PITCHES = harpPitches(NOTES);
const SETS = reedSets(NOTES);
const OPTIONS = SEGMENT_DEFAULTS;
/** Limits and costs of the decoder that are its own. */
const MOST_NATS = 4;
const ONSET_NATS = 2;
const ATTACK_ABOVE = 0.7;
const BESIDE_NATS = 1.5;

const heard = fc.record({
  candidates: fc.array(
    fc.record({
      midi: fc.double({ min: 58, max: 100, noNaN: true }),
      strength: fc.double({ min: 0.1, max: 3, noNaN: true }),
    }),
    { maxLength: CANDIDATES },
  ),
  rows: fc.uniqueArray(
    fc.record({
      row: fc.nat({ max: ROWS - 1 }),
      sounding: fc.integer({ min: -4, max: 6 }),
      onset: fc.integer({ min: -4, max: 6 }),
      shake: fc.integer({ min: -6, max: 6 }),
    }),
    { maxLength: 8, selector: ({ row }) => row },
  ),
});

const bounded = (nats: number): number => Math.max(-MOST_NATS, Math.min(MOST_NATS, nats));

describe('the evidence for each state', () => {
  it('is what plain mathematics makes of the comb and of the network', () => {
    let sounded = 0;
    fc.assert(
      fc.property(heard, ({ candidates, rows }) => {
        const evidence = emptyEvidence(1, 0);
        for (const { row, sounding, onset, shake } of rows)
          keepEvidence(evidence, 0, row, sounding, onset, shake);
        const sorted = candidates.toSorted((a, b) => b.strength - a.strength);
        const frames: Frames = {
          hopSec: 0.01,
          count: 1,
          candidateMidi: Float32Array.from({ length: CANDIDATES }, (_, c) => sorted[c]?.midi ?? 0),
          candidateStrength: Float32Array.from({ length: CANDIDATES }, (_, c) => sorted[c]?.strength ?? 0),
          evidence,
        };
        const states = firstSet(PITCHES.length) + SETS.length;
        const [scores, begun] = [new Float64Array(states), new Float64Array(states)];
        const observer = new Observer(frames, PITCHES, SETS, OPTIONS);
        observer.observe(0, scores);
        observer.enter(begun);
        const plain = plainly(frames);
        for (let s = 0; s < states; s++) {
          expect(scores[s]).toBeCloseTo(plain.scores[s], 9);
          expect(begun[s]).toBeCloseTo(plain.begun[s], 9);
          if (s !== SILENCE && scores[s] > 0) sounded++;
        }
      }),
    );
    expect(sounded).toBeGreaterThan(100);
  });
});

/** The same, pitch by pitch and set by set. */
function plainly(frames: Frames): { scores: number[]; begun: number[] } {
  const { evidence, candidateMidi, candidateStrength } = frames;
  const inside = (row: number): boolean => row >= 0 && row < ROWS;
  const sounding = (row: number): number =>
    inside(row) ? bounded(soundingAt(evidence, row, 0)) : -MOST_NATS;
  const shake = (row: number): number => (inside(row) ? bounded(shakeAt(evidence, row, 0)) : -MOST_NATS);
  const onset = (row: number): number => {
    const slot = evidence.rows.indexOf(row + 1);
    return slot < 0 ? -ONSET_NATS : Math.max(-ONSET_NATS, bounded(evidence.onset[slot] / 16));
  };
  // With one frame, its own strength tells how high noise reaches.
  const threshold = Math.min(OPTIONS.threshold, Math.max(0.5, candidateStrength[0] + 0.45));
  const shadow = OPTIONS.threshold - threshold;
  const strengthOf = (c: number): number =>
    Math.min(OPTIONS.ceiling, candidateStrength[c]) - (c > 0 ? shadow : 0);
  const count = [...candidateStrength.keys()].findIndex((c) => !(strengthOf(c) > 0));
  const used = Array.from({ length: count < 0 ? CANDIDATES : count }, (_, c) => c);
  const combOf = (midi: number, below: number, above: number, cost: number): number => {
    const near = used.filter((c) => candidateMidi[c] - midi >= -below && candidateMidi[c] - midi <= above);
    const best = Math.max(0, ...near.map((c) => strengthOf(c) - cost * (candidateMidi[c] - midi) ** 2));
    return ((OPTIONS.combWeight * frames.hopSec) / 0.005) * (best - threshold);
  };
  const scores = [0];
  const begun = [0];
  const held = PITCHES.map(({ midi }) =>
    combOf(midi, OPTIONS.reachSemitones, OPTIONS.reachSemitones, OPTIONS.deviationCost),
  );
  PITCHES.forEach(({ midi, slidesFrom }, i) => {
    const row = rowOf(evidence, midi);
    const here = sounding(row);
    const lower = [1, 2].map((down) => {
      const cost =
        slidesFrom === undefined
          ? 0
          : down > Math.round(slidesFrom)
            ? OPTIONS.otherReedNats
            : OPTIONS.slideNats;
      return sounding(row - down) - cost;
    });
    const beside = Math.max(sounding(row - 1), sounding(row + 1)) - BESIDE_NATS;
    const attack = combOf(
      midi,
      OPTIONS.attackReachSemitones,
      ATTACK_ABOVE - 1e-12,
      OPTIONS.attackDeviationCost,
    );
    scores[attackState(i)] = attack + OPTIONS.networkWeight * Math.max(here, ...lower) - OPTIONS.attackCost;
    scores[heldState(i)] = held[i] + OPTIONS.networkWeight * Math.max(here, beside);
    begun[attackState(i)] = begun[heldState(i)] = OPTIONS.onsetWeight * onset(row);
  });
  SETS.forEach((set, j) => {
    const rows = set.midis.map((midi) => rowOf(evidence, midi));
    const nearest = set.midis.map((midi) => {
      const apart = PITCHES.map((pitch) => Math.abs(pitch.midi - midi));
      return held[apart.indexOf(Math.min(...apart))];
    });
    const sum = rows.reduce((all, row) => all + (set.shake ? shake(row) : sounding(row)), 0);
    const bias = set.shake ? 0 : OPTIONS.setBias * rows.length;
    scores[firstSet(PITCHES.length) + j] = Math.max(...nearest) + OPTIONS.networkWeight * (sum + bias);
    begun[firstSet(PITCHES.length) + j] =
      (OPTIONS.onsetWeight * rows.reduce((all, row) => all + onset(row), 0)) / rows.length;
  });
  return { scores, begun };
}
