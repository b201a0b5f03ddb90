import { describe, expect, it } from 'vitest';
import { FinePitchMeter } from '../../src/analysis/pitch/fine-pitch.ts';
import { Samples } from '../../src/audio/samples.ts';
import { stretch } from '../../src/sound/stretch.ts';
import { mix, soundTab } from '../../src/sound/tab-sound.ts';

const RATE = 22_050;

/** Pitch in the middle third, as the project's own phase meter hears it (checked against sines elsewhere). */
function pitchOf(samples: Float32Array, near: number): number {
  const meter = new FinePitchMeter(Samples.from(samples, RATE));
  const heard: number[] = [];
  for (let i = 0; i < 20; i++) {
    const sec = (samples.length / RATE) * (0.33 + i / 60);
    heard.push(meter.measure(sec, near)?.midi ?? Number.NaN);
  }
  return heard.sort((a, b) => a - b)[10];
}
const rms = (samples: Float32Array) => Math.sqrt(samples.reduce((sum, x) => sum + x * x, 0) / samples.length);

describe('stretching', () => {
  it.each([0.5, 0.75, 1, 1.5, 2, 3])('to %f times the length keeps pitch and level', (factor) => {
    for (const f0Hz of [98, 440, 1760]) {
      const tone = soundTab([{ onsetSec: 0, offsetSec: 1, f0Hz }], 0, 1, RATE);
      const longer = stretch(tone, RATE, factor);
      expect(longer.length).toBe(Math.round(tone.length * factor));
      const midi = 69 + 12 * Math.log2(f0Hz / 440);
      // ± 3 cents: below what is heard.
      expect(Math.abs(100 * (pitchOf(longer, midi) - midi)), `${f0Hz} Hz`).toBeLessThan(3);
      expect(rms(longer) / rms(tone)).toBeGreaterThan(0.93);
      expect(rms(longer) / rms(tone)).toBeLessThan(1.07);
    }
  });

  it('keeps relative times: a note at a third stays at a third', () => {
    const sound = soundTab([{ onsetSec: 0.6, offsetSec: 0.9, f0Hz: 500 }], 0, 1.5, RATE);
    const longer = stretch(sound, RATE, 2);
    const first = longer.findIndex((value) => Math.abs(value) > 0.05) / RATE;
    expect(Math.abs(first - 1.2)).toBeLessThan(0.04);
  });

  it('accepts empty and very short sounds', () => {
    expect(stretch(new Float32Array(0), RATE, 2)).toHaveLength(0);
    expect(stretch(new Float32Array(5), RATE, 2)).toHaveLength(10);
  });
});

describe('tab as sound', () => {
  it('sounds each note at its time and pitch, and nothing in between', () => {
    const sound = soundTab(
      [
        { onsetSec: 1, offsetSec: 1.5, f0Hz: 392 },
        { onsetSec: 2, offsetSec: 2.5, f0Hz: 784 },
      ],
      0.5,
      3,
      RATE,
    );
    expect(sound).toHaveLength(Math.round(2.5 * RATE));
    const part = (from: number, to: number) => sound.subarray((from - 0.5) * RATE, (to - 0.5) * RATE);
    expect(rms(part(0.5, 0.99))).toBe(0);
    expect(rms(part(1.55, 1.99))).toBe(0);
    // G4 = MIDI 67, G5 = MIDI 79 (ISO 16:1975 equal-tempered scale: 391.995, 783.991 Hz).
    expect(pitchOf(part(1, 1.5), 67)).toBeCloseTo(67, 1);
    expect(pitchOf(part(2, 2.5), 79)).toBeCloseTo(79, 1);
    expect(Math.max(...sound)).toBeLessThanOrEqual(0.25);
  });

  it('mixes sample by sample', () => {
    expect([...mix(Float32Array.of(1, 2, 3), Float32Array.of(10))]).toEqual([11, 2, 3]);
  });
});
