/**
 * A 16-bit PCM WAV file (RIFF/WAVE, `fmt ` of 16 bytes, then `data`).
 * @param channels one array of samples for each channel, all as long; full scale ±1, what lies beyond is cut
 */
export function encodeWav(channels: readonly Float32Array[], sampleRate: number): Uint8Array {
  const length = channels[0].length;
  const frameBytes = 2 * channels.length;
  const bytes = new Uint8Array(44 + length * frameBytes);
  const view = new DataView(bytes.buffer);
  const text = (at: number, value: string): void => {
    for (let i = 0; i < value.length; i++) bytes[at + i] = value.charCodeAt(i);
  };
  text(0, 'RIFF');
  view.setUint32(4, 36 + length * frameBytes, true);
  text(8, 'WAVEfmt ');
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, channels.length, true);
  view.setUint32(24, sampleRate, true);
  view.setUint32(28, sampleRate * frameBytes, true);
  view.setUint16(32, frameBytes, true);
  view.setUint16(34, 16, true);
  text(36, 'data');
  view.setUint32(40, length * frameBytes, true);
  channels.forEach((samples, c) => {
    for (let i = 0; i < length; i++) {
      const value = Math.max(-1, Math.min(1, samples[i]));
      view.setInt16(44 + i * frameBytes + 2 * c, Math.round(value * 32767), true);
    }
  });
  return bytes;
}
