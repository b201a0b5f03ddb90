import { describe, expect, it } from 'vitest';
import { joinTraits, type KnownNote, traitsOf } from './playing-traits.ts';

const RATE = 22050;

interface Made {
  readonly fromSec: number;
  readonly toSec: number;
  readonly midi: number;
  readonly partials: readonly number[];
  /** Level in dB over the time since the onset. */
  readonly levelDb?: (sec: number) => number;
  readonly cents?: (sec: number) => number;
}

/** Notes of known shape, over nothing. */
function made(notes: readonly Made[], lengthSec: number): { sound: Float32Array; known: KnownNote[] } {
  const sound = new Float32Array(Math.round(lengthSec * RATE));
  const known = notes.map(({ fromSec, toSec, midi, partials, levelDb, cents }) => {
    const f0Hz = 440 * 2 ** ((midi - 69) / 12);
    let phase = 0;
    for (let n = Math.round(fromSec * RATE); n < Math.round(toSec * RATE); n++) {
      const sec = n / RATE - fromSec;
      phase += (2 * Math.PI * f0Hz * 2 ** ((cents?.(sec) ?? 0) / 1200)) / RATE;
      const gain = 0.1 * 10 ** ((levelDb?.(sec) ?? 0) / 20);
      for (const [k, level] of partials.entries())
        sound[n] += gain * level * Math.sin((k + 1) * phase + 0.7 * k * k);
    }
    return { onsetSec: fromSec, offsetSec: toSec, f0Hz, nominalMidi: midi, alone: true, sure: true };
  });
  return { sound, known };
}

describe('traits of playing, measured on known sound', () => {
  it('finds the strongest partial and the levels of the others', () => {
    const { sound, known } = made(
      [{ fromSec: 0.2, toSec: 1, midi: 69, partials: [1, 0.5, 2, 1, 1, 1] }],
      1.2,
    );
    const { strongest, partialDb } = traitsOf(sound, RATE, known);
    expect(strongest).toEqual([3]);
    expect(partialDb[0][2] - partialDb[0][1]).toBeCloseTo(20 * Math.log10(4), 0);
  });

  it('measures how far and how fast a held note ripples', () => {
    const levelDb = (sec: number): number => 3 * Math.sin(2 * Math.PI * 5 * sec);
    const { sound, known } = made(
      [{ fromSec: 0.1, toSec: 2.6, midi: 76, partials: [1, 1, 1, 1], levelDb }],
      2.8,
    );
    const { rippleDb, rippleHz } = traitsOf(sound, RATE, known);
    expect(rippleDb[0]).toBeGreaterThan(4.5);
    expect(rippleDb[0]).toBeLessThan(6.5);
    expect(rippleHz[0]).toBeCloseTo(5, 0);
  });

  it('measures dips before repeats separately from those before other notes', () => {
    const partials = [1, 1, 1];
    const out = (fromSec: number) => (sec: number) => (sec > fromSec ? -20 : 0);
    const { sound, known } = made(
      [
        { fromSec: 0.2, toSec: 0.8, midi: 72, partials, levelDb: out(0.54) },
        { fromSec: 0.8, toSec: 1.4, midi: 72, partials },
        { fromSec: 1.4, toSec: 2, midi: 76, partials },
      ],
      2.2,
    );
    const traits = traitsOf(sound, RATE, [{ ...known[0], offsetSec: 0.74 }, ...known.slice(1)]);
    expect(traits.repeatDipDb[0]).toBeCloseTo(20, 0);
    expect(traits.repeatDipSec[0]).toBeGreaterThan(0.045);
    expect(traits.repeatDipSec[0]).toBeLessThan(0.08);
    expect(traits.changeDipDb[0]).toBeLessThan(3);
    expect(traits.gapSec[0]).toBeCloseTo(0.06, 6);
  });

  it('measures attacks, slides and tuning', () => {
    const levelDb = (sec: number): number => Math.min(0, -40 + sec * 400);
    const cents = (sec: number): number => (sec < 0.06 ? -40 : 0);
    const partials = [1, 1, 1];
    const { sound, known } = made(
      [
        { fromSec: 0.2, toSec: 0.9, midi: 72, partials, levelDb, cents },
        { fromSec: 1.2, toSec: 1.7, midi: 79, partials },
      ],
      2,
    );
    const traits = traitsOf(sound, RATE, known);
    expect(traits.attackSec[0]).toBeCloseTo(17 / 400, 1);
    expect(traits.slideCents[0]).toBe(-40);
    expect(Math.max(...traits.tuningCents.map(Math.abs))).toBeLessThan(1e-6);
    expect(traits.rate).toEqual([1]);
  });

  it('leaves out uncertain notes and their neighbours', () => {
    const { sound, known } = made(
      [
        { fromSec: 0.2, toSec: 0.6, midi: 72, partials: [1] },
        { fromSec: 0.7, toSec: 1, midi: 72, partials: [1] },
      ],
      1.2,
    );
    const traits = traitsOf(sound, RATE, [known[0], { ...known[1], sure: false }]);
    expect(traits.gapSec).toEqual([]);
    expect(traits.strongest.length).toBe(1);
    expect(joinTraits([traits, traits]).strongest).toEqual([1, 1]);
  });
});
