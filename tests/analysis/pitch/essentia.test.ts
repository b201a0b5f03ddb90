import { createRequire } from 'node:module';
import { afterAll, describe, expect, it } from 'vitest';
import { analyseFrames, CANDIDATES } from '../../../src/analysis/pitch/frames.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { hzToMidi } from '../../../src/units.ts';

interface Vector {
  delete(): void;
}
interface Essentia {
  arrayToVector(values: Float32Array): Vector;
  Windowing(frame: Vector): { frame: Vector };
  Spectrum(frame: Vector, size: number): { spectrum: Vector };
  PitchYinFFT(
    spectrum: Vector,
    frameSize: number,
    interpolate: boolean,
    highestHz: number,
    lowestHz: number,
    sampleRate: number,
  ): { pitch: number };
}

// essentia.js hangs two listeners on the process that would swallow failures of other tests.
const hooks = ['uncaughtException', 'unhandledRejection'] as const;
const before = new Map(hooks.map((hook) => [hook, process.listeners(hook as 'uncaughtException')]));
const library = createRequire(import.meta.url)('essentia.js') as {
  Essentia: new (wasm: unknown) => Essentia;
  EssentiaWASM: unknown;
};
for (const hook of hooks) {
  for (const listener of process.listeners(hook as 'uncaughtException')) {
    if (!before.get(hook)?.includes(listener)) process.removeListener(hook, listener);
  }
}

const RATE = 22050;
const SIZE = 4096;
const vectors: Vector[] = [];
const keep = (vector: Vector): Vector => {
  vectors.push(vector);
  return vector;
};
afterAll(() => {
  for (const vector of vectors) vector.delete();
});

/** A reed-like tone: ten partials falling by 3 dB an octave. */
function tone(f0Hz: number): Float32Array {
  return Float32Array.from({ length: RATE }, (_, i) => {
    let sum = 0;
    for (let k = 1; k <= 10 && k * f0Hz < RATE / 2; k++) {
      sum += (0.05 / Math.sqrt(k)) * Math.sin((2 * Math.PI * k * f0Hz * i) / RATE + k);
    }
    return sum;
  });
}

describe('pitch candidates compared with PitchYinFFT of essentia.js 0.1.3', () => {
  const essentia = new library.Essentia(library.EssentiaWASM);

  // Its bias is up to 50 cents in the low octave (measured, tests/bench/README.md), so it says which semitone, not more.
  it.each([261.63, 392, 523.25, 880, 1046.5, 1568])('name the same semitone at %s Hz', async (f0Hz) => {
    const samples = tone(f0Hz);
    const middle = samples.subarray(RATE / 2 - SIZE / 2, RATE / 2 + SIZE / 2);
    const windowed = keep(essentia.Windowing(keep(essentia.arrayToVector(middle))).frame);
    const spectrum = keep(essentia.Spectrum(windowed, SIZE).spectrum);
    const { pitch } = essentia.PitchYinFFT(spectrum, SIZE, true, 3500, 100, RATE);
    const frames = await analyseFrames(Samples.from(samples, RATE), async () => {});
    const ours = frames.candidateMidi[Math.round(0.5 / frames.hopSec) * CANDIDATES];
    expect(Math.abs(hzToMidi(pitch) - ours)).toBeLessThan(0.5);
    expect(Math.abs(hzToMidi(f0Hz) - ours)).toBeLessThan(0.05);
  });
});
