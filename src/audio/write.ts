import wavefile from 'wavefile';

/**
 * One channel as a WAV file, for clips and samples.
 * @param samples full scale ±1; what lies beyond is clipped, what is no number becomes silence
 * @param sampleRate in Hz
 */
export function encodeWav(samples: Float32Array, sampleRate: number, bitDepth: 16 | 24): Uint8Array {
  // Rounded and clipped here: wavefile truncates numbers of its own accord and rejects those out of range.
  const top = 2 ** (bitDepth - 1) - 1;
  const integers = new Int32Array(samples.length);
  for (let i = 0; i < samples.length; i++) {
    const value = Math.round(samples[i] * top);
    integers[i] = Math.max(-top, Math.min(top, value));
  }
  const wav = new wavefile.WaveFile();
  wav.fromScratch(1, sampleRate, String(bitDepth), integers);
  return wav.toBuffer();
}
