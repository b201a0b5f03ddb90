import { describe, expect, it } from 'vitest';
import { chordsOrLeaks } from '../../../src/analysis/notes/chord-or-leak.ts';
import type { ReedSet } from '../../../src/analysis/notes/states.ts';
import { TICK_SEC } from '../../../src/analysis/pitch/partial-level.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { hzToMidi } from '../../../src/units.ts';

const SAMPLE_RATE = 22050;
const SEC = 0.6;

/** Reeds of eight partials, each a third softer than the one before; levels in dB. */
function twoReeds(...reeds: readonly { readonly f0Hz: number; readonly levelDb: number }[]): Samples {
  const data = Float32Array.from({ length: SEC * SAMPLE_RATE }, (_, i) =>
    reeds.reduce((sum, { f0Hz, levelDb }, r) => {
      let value = 0;
      for (let k = 1; k <= 8; k++)
        value += (2 / 3) ** k * Math.sin((2 * Math.PI * k * f0Hz * i) / SAMPLE_RATE + k * k + r);
      return sum + 0.1 * 10 ** (levelDb / 20) * value;
    }, 0),
  );
  return Samples.from(data, SAMPLE_RATE);
}

/** 5 draw (F5) and 6 draw bent by one (Ab5) of a C harp (reeds: OEIS A291810). */
const PAIR: ReedSet = { midis: [77, 80], holes: [5, 6], breath: 'draw', bends: [0, 1], shake: false };
const hz = (midi: number, cents = 0): number => 440 * 2 ** ((midi - 69 + cents / 100) / 12);

describe('one of two reeds that is bent', () => {
  const judged = (bentCents: number, plainDb: number, bentDb: number) => {
    const samples = twoReeds(
      { f0Hz: hz(77), levelDb: plainDb },
      { f0Hz: hz(80, bentCents), levelDb: bentDb },
    );
    const stretch = {
      midi: 77,
      fromTick: 0,
      toTick: Math.floor(SEC / TICK_SEC),
      glide: false,
      rearticulated: false,
      set: PAIR,
    };
    return chordsOrLeaks(samples, [stretch, { ...stretch, midi: hzToMidi(440), set: undefined }])[0];
  };

  it.each([0, -40, 40])(
    'is the note, however far it is off (%i cents), if the other is softer by 12 dB',
    (cents) => {
      expect(judged(cents, -12, 0)).toMatchObject({ midi: 80 });
      expect(judged(cents, -12, 0).set).toBeUndefined();
    },
  );

  it.each([0, -40, 40])(
    'is a leak, however far it is off (%i cents), if it is softer by 20 dB itself',
    (cents) => {
      expect(judged(cents, 0, -20)).toMatchObject({ midi: 77 });
      expect(judged(cents, 0, -20).set).toBeUndefined();
    },
  );

  it.each([0, -40, 40])('is part of a double stop if both are as loud (%i cents off)', (cents) => {
    expect(judged(cents, 0, 0).set).toEqual(PAIR);
  });
});
