import { SpectrumQuad } from '../analysis/pitch/spectrum.ts';
import type { Samples } from '../audio/samples.ts';
import { Kernel } from '../kernel.ts';

/** Powers by time and frequency; a full-scale sine has power 1 at its peak. */
export interface Spectrogram {
  readonly frames: number;
  readonly bins: number;
  readonly hopSec: number;
  readonly binHz: number;
  /** Power of bin `k` in frame `t`, centred on `t * hopSec`, at `t * bins + k`. */
  readonly power: Float32Array;
}

/** Frames that the kernel transforms at once. */
const LANES = 4;

/**
 * @param windowSec length of the Hann window
 * @param topHz the highest frequency that is kept; at most half the rate
 */
export function spectrogramOf(
  samples: Samples,
  {
    windowSec,
    hopSec,
    topHz,
  }: { readonly windowSec: number; readonly hopSec: number; readonly topHz: number },
): Spectrogram {
  const size = 2 ** Math.ceil(Math.log2(windowSec * samples.sampleRate));
  const quad = new SpectrumQuad(new Kernel(4 * 24 * size), samples, windowSec);
  const { fourier, binHz } = quad;
  const bins = Math.min(fourier.bins, Math.ceil(topHz / binHz));
  const frames = Math.max(1, Math.floor(samples.durationSec / hopSec));
  const power = new Float32Array(frames * bins);
  for (let t = 0; t < frames; t += LANES) {
    quad.transform(t * hopSec, (t + 1) * hopSec, (t + 2) * hopSec, (t + 3) * hopSec);
    fourier.fillPower(0, bins);
    for (let lane = 0; lane < LANES && t + lane < frames; lane++) {
      const at = (t + lane) * bins;
      for (let k = 1; k < bins; k++) power[at + k] = fourier.power[LANES * k + lane];
    }
  }
  return { frames, bins, hopSec, binHz, power };
}

/** A quantile of each bin over the given frames (all frames if omitted). */
export function binQuantiles(
  { frames, bins, power }: Spectrogram,
  share: number,
  wanted: (frame: number) => boolean = () => true,
): Float32Array {
  const kept = Array.from({ length: frames }, (_, t) => t).filter(wanted);
  const every = Math.max(1, Math.floor(kept.length / MOST_FRAMES));
  const used = kept.filter((_, i) => i % every === 0);
  const column = new Float32Array(used.length);
  return Float32Array.from({ length: bins }, (_, k) => {
    used.forEach((t, i) => {
      column[i] = power[t * bins + k];
    });
    column.sort();
    return column[Math.min(column.length - 1, Math.floor(share * column.length))] ?? 0;
  });
}

/** This many frames are enough for a quantile. */
const MOST_FRAMES = 1500;

/** Sum of powers between two frequencies. */
export function bandPower(
  values: ArrayLike<number>,
  binHz: number,
  fromHz: number,
  toHz: number,
  at = 0,
): number {
  let sum = 0;
  const to = Math.floor(toHz / binHz);
  for (let k = Math.ceil(fromHz / binHz); k <= to; k++) sum += values[at + k] ?? 0;
  return sum;
}
