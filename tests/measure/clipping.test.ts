import { describe, expect, it } from 'vitest';
import type { SoundEvent } from '../../src/analysis/notes/events.ts';
import { Samples } from '../../src/audio/samples.ts';
import { findClipped, peakMeter } from '../../src/measure/clipping.ts';
import { measureNotes } from '../../src/measure/notes.ts';
import { noPause } from '../analysis/tones.ts';
import { eventOf, harp, noteOf, RATE, sound, sure } from './sounds.ts';

const C = harp();
const NOTE = noteOf(C, 4, 'draw');

/** A note with its samples cut at a share of its peak, and a softer one after it that stays whole. */
function cut(share: number): Samples {
  const whole = new Float32Array(2 * RATE);
  sound([{ midi: NOTE.midi, levelDb: 0 }], 1).read(0, whole.subarray(0, RATE));
  sound([{ midi: NOTE.midi, levelDb: -12 }], 1).read(0, whole.subarray(RATE));
  const peak = whole.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  const limit = share * peak;
  return Samples.from(
    whole.map((value) => Math.max(-limit, Math.min(limit, value))),
    RATE,
  );
}

/** Which of these notes are clipped. */
const clippedIn = (samples: Samples, events: readonly SoundEvent[]): boolean[] =>
  findClipped(events.map(peakMeter(samples)));

const EVENTS = [eventOf(NOTE.midi, 0, 1), eventOf(NOTE.midi, 1, 2)];

describe('notes cut off at the ceiling', () => {
  it('do not include an intact note, however loud', () => {
    expect(clippedIn(cut(1), EVENTS)).toEqual([false, false]);
  });

  it('include a note cut at a third of its peak, but not the soft one after it', () => {
    expect(clippedIn(cut(0.33), EVENTS)).toEqual([true, false]);
  });

  it('do not include a full-scale sine: its peaks are round (half as long above 0.9 as above 0.6, as of a parabola)', () => {
    const sine = Float32Array.from({ length: RATE }, (_, n) => Math.sin((2 * Math.PI * 440 * n) / RATE));
    expect(clippedIn(Samples.from(sine, RATE), [eventOf(69, 0, 1)])).toEqual([false]);
  });

  it('do not include silence or notes that are too short', () => {
    expect(clippedIn(Samples.from(new Float32Array(RATE), RATE), [eventOf(69, 0, 1)])).toEqual([false]);
    expect(clippedIn(cut(0.33), [eventOf(69, 0, 0.12)])).toEqual([false]);
  });

  it('lose their tone, with the reason, but keep their pitch', async () => {
    const readings = [sure(NOTE), sure(NOTE)];
    const [first, second] = await measureNotes(cut(0.33), EVENTS, readings, C, noPause);
    expect(first).toMatchObject({ tone: undefined, flags: ['clipped'] });
    expect(Math.abs(first.cents)).toBeLessThan(1);
    expect(first.intonation).not.toBeNull();
    expect(second.tone).toBeDefined();
    expect(second.flags).toEqual([]);
  });
});
