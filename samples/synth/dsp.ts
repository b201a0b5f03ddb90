import FFT from 'fft.js';

/** Root mean square; 0 for no samples. */
export function rms(samples: Float32Array): number {
  let sum = 0;
  for (const value of samples) sum += value * value;
  return samples.length === 0 ? 0 : Math.sqrt(sum / samples.length);
}

/** Scales in place to this root mean square. */
export function levelTo(samples: Float32Array, level: number): Float32Array {
  const now = rms(samples);
  if (now > 0) for (let n = 0; n < samples.length; n++) samples[n] *= level / now;
  return samples;
}

/** Adds `part` to `whole` in place from sample `at` on; what lies beyond either end is dropped. */
export function addInto(whole: Float32Array, part: Float32Array, at: number): Float32Array {
  for (let n = Math.max(0, -at); n < part.length && at + n < whole.length; n++) whole[at + n] += part[n];
  return whole;
}

/** Linear convolution by overlap-add; the result is `a.length + b.length - 1` long. */
export function convolve(a: Float32Array, b: Float32Array): Float32Array {
  let size = 1024;
  while (size < 2 * b.length) size *= 2;
  const block = size - b.length + 1;
  const fft = new FFT(size);
  const response = spectrum(fft, b, 0, b.length);
  const out = new Float32Array(a.length + b.length - 1);
  const product = fft.createComplexArray();
  const result = fft.createComplexArray();
  for (let start = 0; start < a.length; start += block) {
    const part = spectrum(fft, a, start, Math.min(block, a.length - start));
    // Inverse transform by the forward one: conjugate before and after.
    for (let i = 0; i < 2 * size; i += 2) {
      product[i] = part[i] * response[i] - part[i + 1] * response[i + 1];
      product[i + 1] = -(part[i] * response[i + 1] + part[i + 1] * response[i]);
    }
    fft.transform(result, product);
    const end = Math.min(size, out.length - start);
    for (let n = 0; n < end; n++) out[start + n] += result[2 * n] / size;
  }
  return out;
}

function spectrum(fft: FFT, from: Float32Array, start: number, length: number): number[] {
  const padded = fft.createComplexArray().fill(0);
  for (let n = 0; n < length; n++) padded[2 * n] = from[start + n];
  const out = fft.createComplexArray();
  fft.transform(out, padded);
  return out;
}

const SINC_SIDE = 24;

/**
 * Reads every `step`-th sample (step need not be whole) through a windowed sinc; steps above 1 are low-passed first to
 * prevent aliasing.
 */
export function resample(samples: Float32Array, step: number): Float32Array {
  const out = new Float32Array(Math.floor(samples.length / step));
  const cut = Math.min(1, 1 / step) * (step > 1.01 ? 0.96 : 1);
  const side = Math.ceil(SINC_SIDE / cut);
  for (let n = 0; n < out.length; n++) {
    const at = n * step;
    const centre = Math.floor(at);
    let sum = 0;
    const to = Math.min(samples.length - 1, centre + side);
    for (let i = Math.max(0, centre - side + 1); i <= to; i++) {
      const x = at - i;
      if (Math.abs(x) >= side) continue;
      const window = 0.5 + 0.5 * Math.cos((Math.PI * x) / side);
      const sinc = x === 0 ? cut : Math.sin(Math.PI * cut * x) / (Math.PI * x);
      sum += samples[i] * sinc * window;
    }
    out[n] = sum;
  }
  return out;
}
