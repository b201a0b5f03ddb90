import { describe, expect, it } from 'vitest';
import { Samples } from '../../src/audio/samples.ts';
import { evenGain } from '../../src/recording/even-loudness.ts';

const sine = (peakDb: number, rate: number, sec = 4): Samples =>
  Samples.from(
    Float32Array.from(
      { length: sec * rate },
      (_, n) => 10 ** (peakDb / 20) * Math.sin((2 * Math.PI * 1000 * n) / rate),
    ),
    rate,
  );
const db = (ratio: number): number => 20 * Math.log10(ratio);

describe('evenGain', () => {
  it('reads a tone of 1 kHz at -23 dBFS in both channels as -23 LUFS at every rate (EBU Tech 3341, test 1)', () => {
    // What is wanted is -18 LUFS.
    for (const rate of [16_000, 22_050, 24_000, 44_100, 48_000]) {
      expect(Math.abs(db(evenGain(sine(-23, rate))) - 5), `${rate} Hz`).toBeLessThan(0.2);
    }
  });

  it('makes loud and soft recordings equal, without clipping peaks or amplifying silence', () => {
    const [loud, soft] = [-8, -33].map((peak) => peak + db(evenGain(sine(peak, 22_050))));
    expect(Math.abs(loud - soft)).toBeLessThan(0.2);
    expect(evenGain(Samples.from(new Float32Array(50_000), 22_050))).toBe(1);
    const spiky = new Float32Array(100_000);
    for (let n = 0; n < spiky.length; n++)
      spiky[n] = 0.01 * Math.sin(n / 7) + (n % 20_000 === 9_000 ? 0.8 : 0);
    expect(0.8 * evenGain(Samples.from(spiky, 22_050))).toBeLessThanOrEqual(0.9);
    expect(db(evenGain(sine(-60, 22_050)))).toBeCloseTo(24, 3);
  });
});
