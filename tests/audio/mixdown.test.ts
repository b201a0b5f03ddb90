import { describe, expect, it } from 'vitest';
import { chooseMix } from '../../src/audio/choose-mix.ts';
import { Mixdown } from '../../src/audio/mixdown.ts';
import { all, chunk, fmt, measureTone, pcm, readBytes, riff, temporaryFolder, tone } from './support.ts';

const folder = temporaryFolder();
const RATE = 16_000;
const PLANE = tone(RATE);

function floatWav(...planes: Float32Array[]): Uint8Array {
  return riff(fmt({ tag: 3, bits: 32, channels: planes.length }), chunk('data', pcm(planes, 32, true)));
}

async function mixed(
  ...planes: Float32Array[]
): Promise<{ amplitude: number; remarks: string[]; data: Float32Array }> {
  const recording = await readBytes(folder, floatWav(...planes));
  const data = all(recording);
  return { amplitude: measureTone(data, RATE, 0.15, 0.35, 440).amplitude, remarks: recording.remarks, data };
}

function noise(length: number, level: number, seed: number): Float32Array {
  let state = seed;
  return Float32Array.from({ length }, () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return level * (state / 2 ** 31 - 1);
  });
}

describe('channels', () => {
  it('averages two similar channels', async () => {
    const { amplitude, remarks } = await mixed(
      PLANE,
      PLANE.map((x) => x * 0.6),
    );
    expect(amplitude).toBeCloseTo(0.4, 2);
    expect(remarks).toEqual([]);
  });

  it('leaves out a dead channel, whichever it is', async () => {
    const dead = new Float32Array(PLANE.length);
    const left = await mixed(dead, PLANE);
    expect(left.amplitude).toBeCloseTo(0.5, 2);
    expect(left.remarks).toEqual(['the left channel is silent: only the right one was used']);
    const right = await mixed(PLANE, dead);
    expect(right.amplitude).toBeCloseTo(0.5, 2);
    expect(right.remarks).toEqual(['the right channel is silent: only the left one was used']);
  });

  it('leaves out a channel of nothing but hiss or an offset', async () => {
    const hiss = await mixed(PLANE, noise(PLANE.length, 0.02, 5));
    expect(hiss.amplitude).toBeCloseTo(0.5, 2);
    expect(hiss.remarks).toEqual(['the right channel is nearly silent: only the left one was used']);
    const offset = await mixed(PLANE, new Float32Array(PLANE.length).fill(0.7));
    expect(offset.amplitude).toBeCloseTo(0.5, 2);
    expect(offset.remarks[0]).toMatch(/^the right channel is (nearly )?silent/);
  });

  it('does not let an out-of-phase pair cancel', async () => {
    const { amplitude, remarks } = await mixed(
      PLANE,
      PLANE.map((x) => -x),
    );
    expect(amplitude).toBeCloseTo(0.5, 2);
    expect(remarks).toEqual(['left and right are out of phase: one of them was inverted']);
  });

  it('does not comb-filter spaced microphones: 440 Hz half a period late', async () => {
    const late = new Float32Array(PLANE.length);
    late.set(PLANE.subarray(0, PLANE.length - 9), 9); // a quarter of the period of 36.4 samples
    const { amplitude, remarks } = await mixed(PLANE, late);
    expect(amplitude).toBeCloseTo(0.5, 2);
    expect(remarks[0]).toContain('little in common');
  });

  it('uses the loudest of many channels', async () => {
    const quiet = noise(PLANE.length, 0.01, 3);
    const { amplitude, remarks } = await mixed(quiet, quiet, quiet, PLANE);
    expect(amplitude).toBeCloseTo(0.5, 2);
    expect(remarks).toEqual(['of 4 channels only channel 4, the loudest, was used']);
  });

  it('chooses shares by energy and correlation', () => {
    const shares = (left: number, right: number, front: number) => [
      ...chooseMix({ energies: Float64Array.of(left, right), front }).weights,
    ];
    expect(shares(1, 1, 0.9)).toEqual([0.5, 0.5]);
    expect(shares(1, 1, -0.9)).toEqual([0.5, -0.5]);
    expect(shares(1, 4, -1.9)).toEqual([-0.5, 0.5]);
    expect(shares(1, 0.01, 0.09)).toEqual([1, 0]);
    expect(shares(0.5, 1, 0.1)).toEqual([0, 1]);
    expect(shares(0, 0, 0)).toEqual([1, 0]);
  });

  it('switches channels without a click when a cable fails', () => {
    const rate = 16_000;
    const seconds = 400; // several held stretches of 131 s
    const mixdown = new Mixdown(rate, 2, Number.POSITIVE_INFINITY);
    for (let second = 0; second < seconds; second++) {
      const left = Float32Array.from(
        { length: rate },
        (_, i) => 0.5 * Math.sin((2 * Math.PI * 440 * i) / rate),
      );
      mixdown.push([second < 10 ? left : new Float32Array(rate), left]);
    }
    mixdown.finish('x');
    const out = new Float32Array(mixdown.samples.length);
    mixdown.samples.read(0, out);
    expect(out.length).toBe(seconds * rate);
    let steepest = 0;
    for (let i = 11 * rate; i < out.length; i++) steepest = Math.max(steepest, Math.abs(out[i] - out[i - 1]));
    // The tone's own steepest step is 2 pi 440 / 16000 * 0.5 = 0.086 [calc].
    expect(steepest).toBeLessThan(0.09);
    expect(measureTone(out, rate, 390, 391, 440).amplitude).toBeGreaterThan(0.24);
  });
});

describe('conditioning', () => {
  it('removes an offset without a step at the start', async () => {
    const { amplitude, data } = await mixed(PLANE.map((x) => x * 0.5 + 0.4));
    expect(amplitude).toBeCloseTo(0.25, 2);
    expect(Math.max(...data.subarray(0, RATE * 0.099).map(Math.abs))).toBeLessThan(1e-4);
    const mean = data.reduce((sum, x) => sum + x, 0) / data.length;
    expect(Math.abs(mean)).toBeLessThan(0.005);
  });

  it('reads NaN as silence, and says how many there were', async () => {
    const broken = PLANE.slice();
    broken[100] = Number.NaN;
    broken[3000] = Number.POSITIVE_INFINITY;
    broken[3001] = Number.NEGATIVE_INFINITY;
    broken[4000] = 1e30;
    const { amplitude, remarks, data } = await mixed(broken);
    expect(remarks).toEqual(['4 samples are not numbers: read as silence']);
    expect(data.every((x) => Number.isFinite(x) && Math.abs(x) < 1.2)).toBe(true);
    expect(amplitude).toBeCloseTo(0.5, 2);
  });

  it('refuses a recording that is mostly NaN', async () => {
    const broken = PLANE.map((x, i) => (i % 3 === 0 ? x : Number.NaN));
    await expect(readBytes(folder, floatWav(broken))).rejects.toMatchObject({
      code: 'E_DAMAGED_AUDIO',
      message: expect.stringContaining('are not numbers'),
    });
  });

  it('says that a recording is clipped, but not if it is only at full scale', async () => {
    const loud = tone(RATE, 440, 3).map((x) => Math.max(-1, Math.min(1, x)));
    expect((await mixed(loud)).remarks[0]).toMatch(/^the recording is clipped in \d+ places/);
    expect((await mixed(tone(RATE, 440, 0.99))).remarks).toEqual([]);
  });

  it('distinguishes samples at another scale from damage', async () => {
    const { amplitude, remarks } = await mixed(PLANE.map((x) => x * 20_000));
    expect(amplitude / 20_000).toBeCloseTo(0.5, 2);
    expect(remarks.filter((remark) => remark.includes('not numbers'))).toEqual([]);
  });
});
