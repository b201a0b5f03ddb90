import type { Samples } from '../audio/samples.ts';
import { CEILING_DB, MOST_GAIN_DB, TARGET_LUFS } from '../sound/loudness-target.ts';
import { Essentia } from './essentia.ts';

/** The middle of the recording, this long, stands for the whole: measuring a minute takes 1.4 s of processor time. */
const LOOK_SEC = 40;

/**
 * Factor that makes all recordings equally loud (integrated loudness, EBU R 128); 1 for silence.
 * @returns > 0; no sample is beyond the ceiling afterwards
 */
export function evenGain(samples: Samples): number {
  const wave = new Float32Array(Math.min(samples.length, Math.round(LOOK_SEC * samples.sampleRate)));
  samples.read((samples.length - wave.length) >> 1, wave);
  const peak = peakOf(samples);
  const lufs = Essentia.load().loudness(wave, samples.sampleRate);
  if (!(peak > 0) || !Number.isFinite(lufs)) return 1;
  const gain = 10 ** (Math.min(MOST_GAIN_DB, TARGET_LUFS - lufs) / 20);
  return Math.min(gain, 10 ** (CEILING_DB / 20) / peak);
}

function peakOf(samples: Samples): number {
  const second = new Float32Array(Math.max(1, Math.round(samples.sampleRate)));
  let peak = 0;
  for (let at = 0; at < samples.length; at += second.length) {
    const piece = second.subarray(0, Math.min(second.length, samples.length - at));
    samples.read(at, piece);
    for (const value of piece) peak = Math.max(peak, Math.abs(value));
  }
  return peak;
}
