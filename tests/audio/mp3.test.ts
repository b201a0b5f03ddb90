import decode from 'audio-decode';
import { describe, expect, it } from 'vitest';
import { Samples } from '../../src/audio/samples.ts';
import { encodeMp3 } from '../../src/sound/mp3.ts';

/** Noise below 1.5 kHz, in which every moment is different. */
function noise(count: number, rateHz: number): Float32Array {
  const keep = Math.exp((-2 * Math.PI * 1500) / rateHz);
  let state = 7;
  let once = 0;
  let twice = 0;
  return Float32Array.from({ length: count }, () => {
    state = (state * 1_103_515_245 + 12_345) % 2 ** 31;
    once = keep * once + (1 - keep) * (state / 2 ** 30 - 1);
    twice = keep * twice + (1 - keep) * once;
    return twice;
  });
}

/** Decoded by mpg123 (audio-decode), which is not LAME and not ours. */
async function decoded(bytes: Uint8Array): Promise<{ sound: Float32Array; rateHz: number }> {
  const { channelData, sampleRate } = await decode(bytes);
  expect(channelData).toHaveLength(1);
  return { sound: channelData[0], rateHz: sampleRate };
}

/** Samples by which `heard` lags behind `given` around one moment. */
function lag(given: Float32Array, givenHz: number, heard: Float32Array, heardHz: number, atSec: number) {
  let best = Number.NEGATIVE_INFINITY;
  let found = 0;
  for (let shift = -1500; shift <= 1500; shift++) {
    let fit = 0;
    for (let i = 0; i < 800; i++) {
      const sec = atSec + i / heardHz;
      fit += given[Math.round(sec * givenHz)] * (heard[Math.round(sec * heardHz) + shift] ?? 0);
    }
    if (fit > best) [best, found] = [fit, shift];
  }
  return found;
}

describe('MP3 of one channel', () => {
  it.each([
    [8000, 8000],
    [11_025, 11_025],
    [16_000, 16_000],
    [18_900, 22_050],
    [22_050, 22_050],
    [24_000, 24_000],
    [30_000, 24_000],
  ])(
    'at %d Hz comes out of another decoder as long as it went in, and in its place',
    async (rateHz, outHz) => {
      const given = noise(Math.round(6.123 * rateHz), rateHz);
      const mp3 = await encodeMp3(Samples.from(given, rateHz));
      expect(mp3.rateHz).toBe(outHz);
      const { sound, rateHz: heardHz } = await decoded(mp3.bytes);
      expect(heardHz).toBe(outHz);
      expect(Math.abs(sound.length - (given.length * outHz) / rateHz)).toBeLessThanOrEqual(1);
      for (const atSec of [0.1, 3, 5.9])
        expect(Math.abs(lag(given, rateHz, sound, heardHz, atSec))).toBeLessThanOrEqual(1);
    },
  );

  it('is an eighth of the size of WAV', async () => {
    const { bytes } = await encodeMp3(Samples.from(noise(10 * 22_050, 22_050), 22_050));
    // 64 kbit/s for ten seconds, and a few frames around them.
    expect(bytes.length).toBeGreaterThan(80_000);
    expect(bytes.length).toBeLessThan(82_000);
  });

  it('accepts samples beyond full scale, and a recording of one sample', async () => {
    const { sound } = await decoded(
      (await encodeMp3(Samples.from(new Float32Array(5000).fill(3), 22_050))).bytes,
    );
    expect(sound).toHaveLength(5000);
    expect(
      (await decoded((await encodeMp3(Samples.from(new Float32Array(1), 16_000))).bytes)).sound,
    ).toHaveLength(1);
  });

  it('stops when told to', async () => {
    const stopped = encodeMp3(Samples.from(noise(22_050, 22_050), 22_050), AbortSignal.abort());
    await expect(stopped).rejects.toMatchObject({ code: 'E_INTERRUPTED' });
  });
});
