import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { centsBetween } from '../../../src/units.ts';
import { maximumMatching } from './matching.ts';
import {
  addTallies,
  averageOverlapRatio,
  matchNotes,
  type PitchedNote,
  scoreOf,
  type TabbedNote,
  tallyNotes,
  tallyTab,
} from './metrics.ts';

const hz = (midi: number): number => 440 * 2 ** ((midi - 69) / 12);
/** `[onset, offset, MIDI]` rows to notes. */
const notes = (...rows: [number, number, number][]): PitchedNote[] =>
  rows.map(([onsetSec, offsetSec, midi]) => ({ onsetSec, offsetSec, f0Hz: hz(midi) }));

const REFERENCE: [number, number, number][] = [
  [0, 0.5, 72],
  [0.5, 1, 74],
  [1, 1.5, 76],
  [1.5, 2, 77],
];
const reference = notes(...REFERENCE);
const shifted = (onset: number, offset: number, cents: number): PitchedNote[] =>
  notes(...REFERENCE.map(([a, b, m]): [number, number, number] => [a + onset, b + offset, m + cents / 100]));

const COn = { pitchToleranceCents: null, offsetRatio: null };
const COnP = { offsetRatio: null };
const score = (ref: PitchedNote[], est: PitchedNote[], options = {}): number[] => {
  const { precision, recall, f1 } = scoreOf(tallyNotes(ref, est, options));
  return [precision, recall, f1];
};

const ONE = [1, 1, 1];
const NIL = [0, 0, 0];
// Each row: estimate, then P R F1 of onset only, onset + pitch, onset + pitch + offset.
// Source of every value: mir_eval 0.8.2 run with its defaults on these notes.
const WORKED: [name: string, est: PitchedNote[], on: number[], onPitch: number[], all: number[]][] = [
  ['1 identical', reference, ONE, ONE, ONE],
  ['2 onsets +49 ms', shifted(0.049, 0, 0), ONE, ONE, ONE],
  ['2 onsets +50 ms', shifted(0.05, 0, 0), ONE, ONE, ONE],
  ['3 onsets +51 ms', shifted(0.051, 0, 0), NIL, NIL, NIL],
  ['4 pitches +49 cents', shifted(0, 0, 49), ONE, ONE, ONE],
  ['4 pitches +51 cents', shifted(0, 0, 51), ONE, NIL, NIL],
  [
    '5 third note an octave up',
    notes([0, 0.5, 72], [0.5, 1, 74], [1, 1.5, 88], [1.5, 2, 77]),
    ONE,
    [0.75, 0.75, 0.75],
    [0.75, 0.75, 0.75],
  ],
  [
    '5 third note a semitone up',
    notes([0, 0.5, 72], [0.5, 1, 74], [1, 1.5, 77], [1.5, 2, 77]),
    ONE,
    [0.75, 0.75, 0.75],
    [0.75, 0.75, 0.75],
  ],
  [
    '6 third note missed',
    notes([0, 0.5, 72], [0.5, 1, 74], [1.5, 2, 77]),
    [1, 0.75, 0.857143],
    [1, 0.75, 0.857143],
    [1, 0.75, 0.857143],
  ],
  [
    '7 extra note 2.2-2.4',
    notes(...REFERENCE, [2.2, 2.4, 77]),
    [0.8, 1, 0.888889],
    [0.8, 1, 0.888889],
    [0.8, 1, 0.888889],
  ],
  [
    '7 first note twice',
    notes([0, 0.5, 72], ...REFERENCE),
    [0.8, 1, 0.888889],
    [0.8, 1, 0.888889],
    [0.8, 1, 0.888889],
  ],
  [
    '8 third note split at 1.25',
    notes([0, 0.5, 72], [0.5, 1, 74], [1, 1.25, 76], [1.25, 1.5, 76], [1.5, 2, 77]),
    [0.8, 1, 0.888889],
    [0.8, 1, 0.888889],
    [0.6, 0.75, 0.666667],
  ],
  [
    '9 notes 2 and 3 merged',
    notes([0, 0.5, 72], [0.5, 1.5, 74], [1.5, 2, 77]),
    [1, 0.75, 0.857143],
    [1, 0.75, 0.857143],
    [0.666667, 0.5, 0.571429],
  ],
  ['10 offsets +100 ms', shifted(0, 0.1, 0), ONE, ONE, ONE],
  ['10 offsets +110 ms', shifted(0, 0.11, 0), ONE, ONE, NIL],
  [
    '11 mixed',
    notes([0.01, 0.5, 72], [0.56, 1, 74], [1, 1.2, 76], [1.5, 2, 77.2], [2.5, 2.6, 79]),
    [0.6, 0.75, 0.666667],
    [0.6, 0.75, 0.666667],
    [0.4, 0.5, 0.444444],
  ],
];

describe('note metrics against mir_eval 0.8.2', () => {
  for (const [name, estimate, on, onPitch, all] of WORKED) {
    it(name, () => {
      const close = (got: number[], want: number[]): void => {
        for (let i = 0; i < 3; i++) expect(got[i]).toBeCloseTo(want[i], 6);
      };
      close(score(reference, estimate, COn), on);
      close(score(reference, estimate, COnP), onPitch);
      close(score(reference, estimate), all);
    });
  }

  it('12 two notes of 0.1 s: offsets match at +49 ms, but not at +51 ms', () => {
    const short = notes([0, 0.1, 72], [0.5, 0.6, 74]);
    const later = (sec: number): PitchedNote[] => notes([0, 0.1 + sec, 72], [0.5, 0.6 + sec, 74]);
    expect(score(short, later(0.049))).toEqual(ONE);
    expect(score(short, later(0.051), COnP)).toEqual(ONE);
    expect(score(short, later(0.051))).toEqual(NIL);
  });

  it('average overlap ratio of examples 2, 8 and 9', () => {
    const ratio = (est: PitchedNote[]): number =>
      averageOverlapRatio(reference, est, matchNotes(reference, est, COnP));
    expect(ratio(WORKED[2][1])).toBeCloseTo(0.9, 4);
    expect(ratio(WORKED.find(([name]) => name.startsWith('8'))![1])).toBeCloseTo(0.875, 4);
    expect(ratio(WORKED.find(([name]) => name.startsWith('9'))![1])).toBeCloseTo(0.8333, 4);
  });

  it('an empty side gives zeros, not NaN', () => {
    expect(score([], reference)).toEqual(NIL);
    expect(score(reference, [])).toEqual(NIL);
    expect(score([], [])).toEqual(NIL);
    expect(averageOverlapRatio([], [], [])).toBe(0);
  });

  it('a tolerance of 100 ms accepts what 50 ms refuses', () => {
    const estimate = shifted(0.08, 0, 0);
    expect(score(reference, estimate, COnP)).toEqual(NIL);
    expect(score(reference, estimate, { ...COnP, onsetToleranceSec: 0.1 })).toEqual(ONE);
  });

  it('tallies add up to the score of all notes together', () => {
    const all = addTallies([
      { matched: 3, reference: 4, estimated: 3 },
      { matched: 1, reference: 1, estimated: 2 },
    ]);
    expect(scoreOf(all).f1).toBeCloseTo(0.8, 12); // [calc] P = R = 4/5
  });
});

describe('tab F1', () => {
  const bent: TabbedNote = {
    onsetSec: 1,
    offsetSec: 2,
    f0Hz: 440,
    hole: 3,
    breath: 'draw',
    bend: 2,
    over: false,
  };
  const f1 = (change: Partial<TabbedNote>): number => scoreOf(tallyTab([bent], [{ ...bent, ...change }])).f1;

  it('requires onset, hole, breath, bend and over, and nothing else', () => {
    expect(f1({ onsetSec: 1.05, offsetSec: 1.2, f0Hz: 500 })).toBe(1);
    expect(f1({ onsetSec: 1.051 })).toBe(0);
    expect(f1({ hole: 2 })).toBe(0);
    expect(f1({ breath: 'blow' })).toBe(0);
    expect(f1({ bend: 1 })).toBe(0);
    expect(f1({ over: true })).toBe(0);
  });
});

describe('properties', () => {
  const anyNotes = fc.array(
    fc.record({
      onsetSec: fc.double({ min: 0, max: 1, noNaN: true }),
      length: fc.double({ min: 0.01, max: 0.5, noNaN: true }),
      midi: fc.integer({ min: 60, max: 64 }),
    }),
    { maxLength: 8 },
  );
  type Raw = { onsetSec: number; length: number; midi: number };
  const toNotes = (raw: readonly Raw[]): PitchedNote[] =>
    raw.map((n) => ({ onsetSec: n.onsetSec, offsetSec: n.onsetSec + n.length, f0Hz: hz(n.midi) }));

  it('a note is matched once, and stricter rules never match more', () => {
    fc.assert(
      fc.property(anyNotes, anyNotes, (a, b) => {
        const [ref, est] = [toNotes(a), toNotes(b)];
        const pairs = matchNotes(ref, est, COnP);
        expect(new Set(pairs.map(([r]) => r)).size).toBe(pairs.length);
        expect(new Set(pairs.map(([, e]) => e)).size).toBe(pairs.length);
        expect(matchNotes(ref, est).length).toBeLessThanOrEqual(pairs.length);
        expect(pairs.length).toBeLessThanOrEqual(matchNotes(ref, est, COn).length);
      }),
    );
  });

  it('the matching is as large as the one found by brute force', () => {
    const graph = fc.array(fc.uniqueArray(fc.integer({ min: 0, max: 4 }), { maxLength: 5 }), {
      maxLength: 5,
    });
    const best = (edges: readonly number[][], left: number, used: number): number => {
      if (left === edges.length) return 0;
      let most = best(edges, left + 1, used);
      for (const right of edges[left]) {
        if (used & (1 << right)) continue;
        most = Math.max(most, 1 + best(edges, left + 1, used | (1 << right)));
      }
      return most;
    };
    fc.assert(
      fc.property(graph, (edges) => {
        expect(maximumMatching(edges, 5).filter((right) => right >= 0).length).toBe(best(edges, 0, 0));
      }),
    );
  });

  it('cents: 440 to 442 Hz is +7.8514, to 437.5 Hz is -9.8646 [calc]', () => {
    expect(centsBetween(442, 440)).toBeCloseTo(7.8514, 4);
    expect(centsBetween(437.5, 440)).toBeCloseTo(-9.8646, 4);
  });
});
