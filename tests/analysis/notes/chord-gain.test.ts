import { describe, expect, it } from 'vitest';
import { chordGain, framesOfChords } from '../../../src/analysis/notes/decoding/chord-gain.ts';
import { emptyEvidence, keepEvidence, rowOf } from '../../../src/analysis/pitch/evidence.ts';
import { CANDIDATES, type Frames } from '../../../src/analysis/pitch/frames.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { findHarp } from '../../../src/holes/find-harp.ts';
import { event, harp } from '../../tab/hand-made.ts';

const NEVER = -6;

/** Frames in which, one after the other for so many frames, these pitches are heard; the lowest is the strongest candidate. */
function heard(...chords: readonly (readonly [count: number, ...midis: number[]])[]): Frames {
  const count = chords.reduce((sum, [length]) => sum + length, 0);
  const evidence = emptyEvidence(count, 0);
  const candidateMidi = new Float32Array(count * CANDIDATES);
  const candidateStrength = new Float32Array(count * CANDIDATES);
  let t = 0;
  for (const [length, ...midis] of chords) {
    for (let i = 0; i < length; i++, t++) {
      midis.forEach((midi, k) => {
        keepEvidence(evidence, t, rowOf(evidence, midi), 4, i === 0 ? 3 : NEVER, NEVER);
        candidateMidi[t * CANDIDATES + k] = midi;
        candidateStrength[t * CANDIDATES + k] = 3 - k;
      });
    }
  }
  return { hopSec: 0.01, count, candidateMidi, candidateStrength, evidence };
}

const gain = (frames: Frames, key: string): number => chordGain(frames, playableNotes(harp(key)));

// Reeds of a C harp, https://oeis.org/A291810: C5 and E5 are 4 and 5 blow, D5 and F5 are 4 and 5 draw.
const BLOW = [72, 76] as const;
const DRAW = [74, 77] as const;

describe('what chords tell of the harp', () => {
  it('a harp that has them in one breath explains them better than one that does not', () => {
    const frames = heard([60, ...BLOW], [60, ...DRAW], [60, ...BLOW]);
    expect(gain(frames, 'C')).toBeGreaterThan(gain(frames, 'B') + 50);
    expect(gain(frames, 'C')).toBeGreaterThan(gain(frames, 'D') + 20);
  });

  it('single notes are explained no better by chords', () => {
    expect(gain(heard([60, 72], [60, 74], [60, 76]), 'C')).toBeCloseTo(0, 6);
  });

  it('of notes that fit several harps, it decides which was played', () => {
    const notes = [74, 77, 74, 77].map((midi, i) => event(midi, { onsetSec: 0.5 * i }));
    const frames = heard([60, ...DRAW], [60, ...DRAW]);
    const constraints = { temperament: 'equal', tuning: 'richter' };
    const nats = (key: string, given: ReturnType<typeof findHarp>): number =>
      Math.log(given.find((guess) => guess.key === key)?.confidence ?? 0);
    const without = findHarp(notes, constraints);
    const withChords = findHarp(notes, constraints, (spec) => chordGain(frames, playableNotes(spec)));
    const lacks = without.find(({ key }) => gain(frames, key) < 1)?.key ?? '';
    expect(lacks).not.toBe('');
    expect(nats('C', withChords) - nats(lacks, withChords)).toBeGreaterThan(
      nats('C', without) - nats(lacks, without) + 1,
    );
  });
});

describe('the frames of chords', () => {
  it('are those in which two pitches sound for 80 ms and more, and what lies around them', () => {
    expect(framesOfChords(heard([50, 72], [60, ...BLOW], [50, 74])).count).toBe(80);
  });

  it('are not where one note overlaps the next, nor where a pitch lies between two rows', () => {
    expect(framesOfChords(heard([50, 72], [7, 72, 74], [50, 74])).count).toBe(0);
    expect(framesOfChords(heard([50, 72, 73])).count).toBe(0);
  });

  it('are none in a take that is mostly of single notes, whose harp these tell', () => {
    expect(framesOfChords(heard([500, 72], [60, ...BLOW])).count).toBe(0);
  });

  it('are a minute at most, from the middle', () => {
    expect(framesOfChords(heard([9000, ...BLOW])).count).toBe(6000);
  });
});
