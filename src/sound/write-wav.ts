/** Length of `wavHeader`. */
export const WAV_HEADER_BYTES = 44;
const PCM = 1;

/**
 * One channel as a WAV file (RIFF, PCM), for clips and samples; written here because the library takes some twenty
 * times as long, a delay that is felt before playing.
 * @param samples full scale ±1; what lies beyond is clipped, NaN becomes silence
 * @param sampleRate in Hz
 */
export function encodeWav(samples: Float32Array, sampleRate: number, bitDepth: 16 | 24): Uint8Array {
  const pcm = encodePcm(samples, bitDepth);
  // Chunks have an even number of bytes.
  const bytes = new Uint8Array(WAV_HEADER_BYTES + pcm.length + (pcm.length % 2));
  bytes.set(wavHeader(samples.length, sampleRate, bitDepth));
  bytes.set(pcm, WAV_HEADER_BYTES);
  return bytes;
}

/** The header of a WAV file with one channel. */
export function wavHeader(sampleCount: number, sampleRate: number, bitDepth: 16 | 24): Uint8Array {
  const sampleBytes = bitDepth / 8;
  const dataBytes = sampleCount * sampleBytes;
  const bytes = new Uint8Array(WAV_HEADER_BYTES);
  const view = new DataView(bytes.buffer);
  const text = (at: number, word: string) => {
    for (let i = 0; i < word.length; i++) bytes[at + i] = word.charCodeAt(i);
  };
  text(0, 'RIFF');
  view.setUint32(4, WAV_HEADER_BYTES - 8 + dataBytes + (dataBytes % 2), true);
  text(8, 'WAVEfmt ');
  view.setUint32(16, 16, true);
  view.setUint16(20, PCM, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, sampleRate, true);
  view.setUint32(28, sampleRate * sampleBytes, true);
  view.setUint16(32, sampleBytes, true);
  view.setUint16(34, bitDepth, true);
  text(36, 'data');
  view.setUint32(40, dataBytes, true);
  return bytes;
}

/** Samples as stored in a WAV file, without the byte that pads an odd length. */
export function encodePcm(samples: Float32Array, bitDepth: 16 | 24): Uint8Array {
  const sampleBytes = bitDepth / 8;
  const bytes = new Uint8Array(samples.length * sampleBytes);
  const view = new DataView(bytes.buffer);
  const top = 2 ** (bitDepth - 1) - 1;
  for (let i = 0; i < samples.length; i++) {
    const value = Math.max(-top, Math.min(top, Math.round(samples[i] * top))) || 0;
    const at = i * sampleBytes;
    view.setUint16(at, value & 0xffff, true);
    if (bitDepth === 24) view.setInt8(at + 2, value >> 16);
  }
  return bytes;
}
