import { describe, expect, it } from 'vitest';
import { LOUDNESS_SCRIPT } from '../../../src/export/page/script/loudness.ts';
import { Essentia } from '../../../src/recording/essentia.ts';
import { TARGET_LUFS } from '../../../src/sound/loudness-target.ts';

const RATE = 48_000;
const evenGain = new Function(`${LOUDNESS_SCRIPT}; return evenGain;`)() as (samples: Float32Array) => number;
const gainDb = (samples: Float32Array): number => 20 * Math.log10(evenGain(samples));
const tone = (sec: number, value: (sec: number) => number): Float32Array =>
  Float32Array.from({ length: sec * RATE }, (_, n) => value(n / RATE));
const sine = (peakDb: number, hz: number) => (sec: number) =>
  10 ** (peakDb / 20) * Math.sin(2 * Math.PI * hz * sec);

describe('loudness in the page', () => {
  it('reads a tone of 1 kHz at -23 dBFS in both channels as -23 LUFS (EBU Tech 3341, test 1)', () => {
    expect(gainDb(tone(8, sine(-23, 1000)))).toBeCloseTo(TARGET_LUFS + 23, 1);
  });

  it('gates out soft stretches (EBU Tech 3341, test 3)', () => {
    const loud = sine(-23, 1000);
    const soft = sine(-36, 1000);
    const gated = tone(80, (sec) => (sec < 10 || sec > 70 ? soft(sec) : loud(sec)));
    expect(Math.abs(gainDb(gated) - (TARGET_LUFS + 23))).toBeLessThan(0.1);
  });

  it.each([250, 440, 3000])('agrees with essentia.js on a tone of %d Hz that comes and goes', (hz) => {
    const played = tone(6, (sec) => (sec % 1 < 0.7 ? sine(-20, hz)(sec) : 0));
    const wanted = TARGET_LUFS - Essentia.load().loudness(played, RATE);
    expect(Math.abs(gainDb(played) - wanted)).toBeLessThan(0.3);
  });

  it('clips no peak and amplifies no silence', () => {
    expect(evenGain(new Float32Array(RATE))).toBe(1);
    const spiky = tone(
      2,
      (sec) => 0.01 * Math.sin(440 * 2 * Math.PI * sec) + (Math.abs(sec - 1) < 1e-4 ? 0.8 : 0),
    );
    const peak = spiky.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    expect(peak * evenGain(spiky)).toBeCloseTo(10 ** (-1 / 20), 6);
  });
});
