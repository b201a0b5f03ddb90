import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { SoundEvent } from '../../src/analysis/notes/events.ts';
import { findHeld } from '../../src/measure/held.ts';
import { measureIntonation } from '../../src/measure/intonation.ts';
import type { NoteIntonation } from '../../src/tab/note.ts';
import { eventOf } from './sounds.ts';

const measure = (event: SoundEvent): NoteIntonation => measureIntonation(findHeld(event)!)!;
const cents = (value: number): number => value / 100;

describe('held pitch', () => {
  it('a steady note is measured at its pitch', () => {
    expect(findHeld(eventOf(72.13, 1, 2))!.midi).toBeCloseTo(72.13, 4);
  });

  it('leaves out the approach: a scoop of 90 cents in 0.2 s does not pull the mean down', () => {
    const scoop = (sec: number): number => 72 - cents(90) * Math.max(0, 1 - sec / 0.2);
    const held = findHeld(eventOf(scoop, 0, 0.8))!;
    // The mean over all that follows the attack would be 4 cents low [calc].
    expect(Math.abs(100 * (held.midi - 72))).toBeLessThan(1.5);
    expect(held.settleSec).toBeGreaterThan(0.12);
    expect(held.settleSec).toBeLessThan(0.21);
  });

  it('leaves out the glide into the next note', () => {
    const bend = (sec: number): number => 74 - Math.max(0, (sec - 0.7) / 0.1);
    expect(Math.abs(100 * (findHeld(eventOf(bend, 0, 0.77))!.midi - 74))).toBeLessThan(1);
  });

  it('whole waves of vibrato average out', () => {
    const wave = (sec: number): number => 70 + cents(40) * Math.sin(2 * Math.PI * 5 * sec);
    expect(Math.abs(100 * (findHeld(eventOf(wave, 0, 1.1))!.midi - 70))).toBeLessThan(2);
  });

  it('is null when nothing could be measured', () => {
    const event = eventOf(72, 0, 0.5);
    expect(findHeld({ ...event, contourMidi: event.contourMidi.map(() => Number.NaN) })).toBeNull();
  });
});

describe('how a note is held', () => {
  it('a steady note has nothing to report', () => {
    expect(measure(eventOf(67, 0, 0.6))).toMatchObject({
      scoopCents: 0,
      scoopSec: 0,
      overshootCents: 0,
      releaseCents: 0,
    });
    expect(measure(eventOf(67, 0, 0.6)).steadinessCents).toBeLessThan(0.01);
    expect(measure(eventOf(67, 0, 0.6)).vibratoHz).toBeUndefined();
  });

  it('drift is the slope, in cents per second, and not unsteadiness', () => {
    fc.assert(
      fc.property(fc.double({ min: -12, max: 12, noNaN: true }), (slope) => {
        const found = measure(eventOf((sec) => 69 + cents(slope * sec), 0, 1));
        expect(found.driftCentsPerSec).toBeCloseTo(slope, 1);
        expect(found.steadinessCents).toBeLessThan(0.1);
      }),
      { numRuns: 30 },
    );
  });

  it('vibrato is distinguished from unsteadiness, with its rate and extent', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 4, max: 7.5, noNaN: true }),
        fc.double({ min: 8, max: 50, noNaN: true }),
        fc.double({ min: 0, max: 6.28, noNaN: true }),
        (hz, extent, phase) => {
          const found = measure(
            eventOf((sec) => 69 + cents(extent * Math.sin(2 * Math.PI * hz * sec + phase)), 0, 1),
          );
          expect(Math.abs(found.vibratoHz! - hz)).toBeLessThan(0.25);
          expect(Math.abs(found.vibratoCents! - extent)).toBeLessThan(0.1 * extent + 0.5);
          expect(found.steadinessCents).toBeLessThan(0.15 * extent);
        },
      ),
      { numRuns: 40 },
    );
  });

  it('a wandering pitch is unsteady, not vibrato', () => {
    const wander = [0, 12, -9, 4, 15, -14, 2, -5, 9, -12, 7, 0, -8, 13, -3, 6];
    const found = measure(
      eventOf((sec) => 69 + cents(wander[Math.floor(sec / 0.05) % wander.length]), 0, 0.8),
    );
    expect(found.vibratoHz).toBeUndefined();
    expect(found.steadinessCents).toBeGreaterThan(5);
  });

  it('a scoop has its start and length', () => {
    const found = measure(eventOf((sec) => 72 - cents(100) * Math.max(0, 1 - sec / 0.15), 0, 0.8));
    expect(found.scoopCents).toBeLessThan(-90);
    expect(found.scoopCents).toBeGreaterThan(-115); // carried back over the half window that real sound hides
    expect(found.scoopSec).toBeGreaterThan(0.1);
    expect(found.scoopSec).toBeLessThan(0.16);
    expect(found.overshootCents).toBe(0);
  });

  it('an overshoot is how far it went past the held pitch', () => {
    const over = (sec: number): number =>
      sec < 0.06 ? -60 + (sec / 0.06) * 95 : sec < 0.14 ? 35 * (1 - (sec - 0.06) / 0.08) : 0;
    const found = measure(eventOf((sec) => 72 + cents(over(sec)), 0, 0.8));
    expect(found.scoopCents).toBeLessThan(-40);
    expect(found.overshootCents).toBeGreaterThan(25);
    expect(found.overshootCents).toBeLessThan(36);
  });

  it('the release is where the note went at its end', () => {
    const found = measure(eventOf((sec) => 72 + cents(sec > 0.75 ? 8 : 0), 0, 0.8));
    expect(Math.abs(found.releaseCents! - 8)).toBeLessThan(0.5); // 20 of 700 ms pull the mean
  });

  it('is left out for a note of 90 ms', () => {
    const event = eventOf(72, 0, 0.09, { heldSec: [0.036, 0.072] });
    expect(measureIntonation(findHeld(event)!)).toBeNull();
  });
});
