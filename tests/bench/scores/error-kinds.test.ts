import { describe, expect, it } from 'vitest';
import { classifyErrors, type Span } from './error-kinds.ts';
import type { TabbedNote } from './metrics.ts';

const hz = (midi: number): number => 440 * 2 ** ((midi - 69) / 12);
const note = (
  onsetSec: number,
  offsetSec: number,
  midi: number,
  hole: number,
  breath: 'blow' | 'draw',
  bend = 0,
): TabbedNote => ({ onsetSec, offsetSec, f0Hz: hz(midi), hole, breath, bend, over: false });

// On a C harp: 4 blow C5 (72), 4 draw D5 (74), 2 draw = 3 blow G4 (67), 3 draw whole-tone bend A4 (69), 6 draw A5.
const c5 = note(1, 2, 72, 4, 'blow');
const kinds = (ref: TabbedNote[], est: TabbedNote[], talk: Span[] = []): string[] =>
  classifyErrors(ref, est, talk).map((error) => error.kind);

describe('kinds of error', () => {
  it('finds none in a perfect transcription', () => expect(kinds([c5], [c5])).toEqual([]));

  it('octave', () => expect(kinds([c5], [note(1, 2, 84, 7, 'blow')])).toEqual(['octave']));

  it('a twelfth counts as an octave', () =>
    expect(kinds([c5], [note(1, 2, 91, 9, 'blow')])).toEqual(['octave']));

  it('missed repeat: one estimate covers two notes of the same pitch', () =>
    expect(kinds([c5, note(2, 3, 72, 4, 'blow')], [note(1, 3, 72, 4, 'blow')])).toEqual(['missed-repeat']));

  it('a missed note of another pitch is not a repeat', () =>
    expect(kinds([c5, note(2, 3, 74, 4, 'draw')], [note(1, 3, 72, 4, 'blow')])).toEqual(['missed-covered']));

  it('split', () =>
    expect(kinds([c5], [note(1, 1.4, 72, 4, 'blow'), note(1.4, 2, 72, 4, 'blow')])).toEqual(['split']));

  it('a bend taken for a natural note, at the right pitch or a semitone off', () => {
    const bend = note(1, 2, 69, 3, 'draw', 2);
    expect(kinds([bend], [note(1, 2, 69.1, 3, 'blow')])).toEqual(['bend-as-natural']);
    expect(kinds([bend], [note(1, 2, 70, 3, 'draw')])).toEqual(['bend-as-natural']);
  });

  it('hole and breath', () =>
    expect(kinds([note(1, 2, 67, 2, 'draw')], [note(1, 2, 67, 3, 'blow')])).toEqual(['hole-or-breath']));

  it('another pitch', () => expect(kinds([c5], [note(1, 2, 76, 5, 'blow')])).toEqual(['wrong-pitch']));

  it('talk, only while somebody talks', () => {
    const extra = note(3, 3.2, 60, 1, 'blow');
    expect(kinds([c5], [c5, extra], [[2.5, 4]])).toEqual(['talk-as-note']);
    expect(kinds([c5], [c5, extra])).toEqual(['added-in-silence']);
  });

  it('late and early onset', () => {
    expect(kinds([c5], [note(1.08, 2, 72, 4, 'blow')])).toEqual(['late-onset']);
    expect(kinds([c5], [note(0.9, 2, 72, 4, 'blow')])).toEqual(['early-onset']);
  });

  it('missed: covered by a note of another pitch, not heard at all, or cut short', () => {
    const next = note(2, 2.4, 74, 4, 'draw');
    expect(kinds([c5, next], [note(1, 2.25, 72, 4, 'blow')])).toEqual(['missed-covered']);
    expect(kinds([c5, next], [note(1, 2.15, 72, 4, 'blow')])).toEqual(['missed-unheard']);
    // The right pitch sounds through most of it, but began 0.4 s late: neither a repeat nor a timing error.
    expect(kinds([c5], [note(1.4, 2, 72, 4, 'blow')]).sort()).toEqual(['missed-other', 'split']);
  });

  it('extra: over a note of another pitch, or where nothing is played', () => {
    expect(kinds([c5], [c5, note(1.3, 1.6, 76, 5, 'blow')])).toEqual(['added-in-note']);
    expect(kinds([], [c5])).toEqual(['added-in-silence']);
  });

  it('counts a wrong note once', () => {
    const reference = [c5, note(2, 3, 74, 4, 'draw'), note(3, 4, 72, 4, 'blow')];
    const estimate = [note(1, 2, 84, 7, 'blow'), note(2.1, 3, 74, 4, 'draw')];
    expect(kinds(reference, estimate).sort()).toEqual(['late-onset', 'missed-unheard', 'octave']);
  });
});
