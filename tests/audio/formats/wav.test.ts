import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import wavefile from 'wavefile';
import { readRecording } from '../../../src/audio/read.ts';
import { encodeWav } from '../../../src/sound/write-wav.ts';
import {
  all,
  chunk,
  extensible,
  type Fmt,
  firstAbove,
  fmt,
  joined,
  measureTone,
  pcm,
  readBytes,
  riff,
  temporaryFolder,
  text,
  tone,
  u16,
  u32,
} from '../support.ts';

// Built byte by byte after the RIFF/WAVE specification; nothing of the reader is used to build.

const folder = temporaryFolder();
const RATE = 16_000;
const PLANE = tone(RATE);

async function expectTone(bytes: Uint8Array, rate = RATE, amplitude = 0.5): Promise<void> {
  const recording = await readBytes(folder, bytes);
  expect(recording.source.sampleRate).toBe(rate);
  expect(recording.source.durationSec).toBeCloseTo(0.4, 3);
  expect(recording.remarks).toEqual([]);
  const data = all(recording);
  const stored = recording.samples.sampleRate;
  const heard = measureTone(data, stored, 0.15, 0.35, 440);
  expect(Math.abs(heard.f0Hz - 440)).toBeLessThan(0.01);
  expect(Math.abs(heard.amplitude - amplitude)).toBeLessThan(0.01);
  expect(firstAbove(data, 0.1) / stored).toBeCloseTo(0.1003, 3);
}

describe('kinds of WAV', () => {
  const KINDS: readonly [name: string, bits: number, float: boolean][] = [
    ['8-bit', 8, false],
    ['16-bit', 16, false],
    ['24-bit', 24, false],
    ['32-bit', 32, false],
    ['64-bit', 64, false],
    ['32-bit float', 32, true],
    ['64-bit float', 64, true],
  ];
  for (const [name, bits, float] of KINDS) {
    const tag = float ? 3 : 1;
    it(`${name}, mono`, () => expectTone(riff(fmt({ tag, bits }), chunk('data', pcm([PLANE], bits, float)))));
    it(`${name}, stereo`, () =>
      expectTone(riff(fmt({ tag, bits, channels: 2 }), chunk('data', pcm([PLANE, PLANE], bits, float)))));
    it(`${name}, extensible, stereo`, () =>
      expectTone(
        riff(
          fmt({ tag: 0xfffe, bits, channels: 2, extra: extensible(tag, bits) }),
          chunk('data', pcm([PLANE, PLANE], bits, float)),
        ),
      ));
    it(`${name}, big-endian RIFX`, () => {
      const data = pcm([PLANE], bits, float, true);
      const body = joined(text('WAVE'), fmt({ tag, bits, big: true }), chunk('data', data, undefined, true));
      return expectTone(joined(text('RIFX'), u32(body.length, true), body));
    });
  }

  it.each([8_000, 11_025, 22_050, 32_000, 44_100, 48_000, 88_200, 96_000, 192_000])('%i Hz', (rate) =>
    expectTone(riff(fmt({ rate }), chunk('data', pcm([tone(rate)], 16))), rate),
  );

  it('20 valid bits in 3 bytes', () =>
    expectTone(
      riff(fmt({ tag: 0xfffe, bits: 24, extra: extensible(1, 20) }), chunk('data', pcm([PLANE], 24))),
    ));

  it('six channels, the tone in the front pair', async () => {
    const silent = new Float32Array(PLANE.length);
    const planes = [PLANE, PLANE, silent, silent, silent, silent];
    const recording = await readBytes(folder, riff(fmt({ channels: 6 }), chunk('data', pcm(planes, 16))));
    expect(recording.source.channels).toBe(6);
    expect(recording.remarks).toEqual(['of 6 channels the front pair was used']);
    expect(measureTone(all(recording), RATE, 0.15, 0.35, 440).amplitude).toBeCloseTo(0.5, 2);
  });
});

describe('chunks', () => {
  const data = pcm([PLANE], 16);

  it('skips chunks before, between and after, even those of odd size', () =>
    expectTone(
      riff(
        chunk('JUNK', new Uint8Array(27)),
        fmt(),
        chunk('LIST', text('INFOINAM\x05\0\0\0Tone\0')),
        chunk('fact', u32(PLANE.length)),
        chunk('data', data),
        chunk('LIST', text('INFOISFT\x03\0\0\0ab\0')),
      ),
    ));

  it('finds the format after the sound', () => expectTone(riff(chunk('data', data), fmt())));

  it('copes with a forgotten padding byte', () =>
    expectTone(riff(fmt(), joined(text('note'), u32(3), text('abc')), chunk('data', data))));

  it('reads to the end when a streaming writer left the size at 0 or at its highest', async () => {
    for (const size of [0, 0xffff_ffff, 0x7fff_f000]) {
      await expectTone(
        joined(text('RIFF'), u32(0xffff_ffff), text('WAVE'), fmt(), chunk('data', data, size)),
      );
    }
  });

  it.each(['RF64', 'BW64'])('%s with 64-bit sizes', (id) => {
    const sizes = joined(u32(0), u32(0), u32(data.length), u32(0), u32(PLANE.length), u32(0), u32(0));
    // Another chunk after the sound: only the 64-bit size tells where the sound ends.
    const tail = chunk('LIST', new Uint8Array(2000).fill(99));
    return expectTone(
      joined(
        text(id),
        u32(0xffff_ffff),
        text('WAVE'),
        chunk('ds64', sizes),
        fmt(),
        chunk('data', data, 0xffff_ffff),
        tail,
      ),
    );
  });

  it('does not read what follows the sound as sound', async () => {
    const recording = await readBytes(
      folder,
      riff(fmt(), chunk('data', data), chunk('junk', new Uint8Array(9000).fill(77))),
    );
    expect(recording.source.durationSec).toBeCloseTo(0.4, 6);
  });

  it('returns sound or one plain error for a file cut anywhere', async () => {
    const whole = riff(fmt(), chunk('LIST', new Uint8Array(9)), chunk('data', data));
    for (let length = 1; length < 120; length++) {
      const path = join(folder, 'cut.wav');
      writeFileSync(path, whole.subarray(0, length));
      const outcome = await readRecording(path).then(
        (recording) => recording.remarks.join(),
        (error) => error.code,
      );
      expect(outcome).toMatch(/^(E_NOT_AUDIO|E_DAMAGED_AUDIO|the file ends early: .*)$/);
    }
  });
});

describe('compared with wavefile', () => {
  // An independent writer; it was written without a look at ours.
  it.each(['8', '16', '24', '32', '32f', '64'])('reads what it writes at depth %s', async (depth) => {
    const bits = Number.parseInt(depth, 10);
    const full = depth === '32f' || depth === '64' ? 1 : 2 ** (bits - 1) - 1;
    const wav = new wavefile.WaveFile();
    const shift = depth === '8' ? 128 : 0;
    wav.fromScratch(
      1,
      RATE,
      depth,
      Array.from(PLANE, (x) => x * full + shift),
    );
    await expectTone(wav.toBuffer());
  });

  it('reads its big-endian files', async () => {
    const wav = new wavefile.WaveFile();
    wav.fromScratch(
      1,
      RATE,
      '16',
      Array.from(PLANE, (x) => Math.round(x * 32767)),
    );
    wav.toRIFX();
    await expectTone(wav.toBuffer());
  });
});

describe('encodeWav', () => {
  it.each([16, 24] as const)('writes %i-bit samples that wavefile reads back', (depth) => {
    const samples = Float32Array.from([0, 0.5, -0.5, 1, -1, 2, -2, Number.NaN]);
    const top = 2 ** (depth - 1) - 1;
    const wav = new wavefile.WaveFile(encodeWav(samples, 22_050, depth));
    expect((wav.fmt as { sampleRate: number }).sampleRate).toBe(22_050);
    const half = Math.round(top * 0.5);
    const back = Array.from(wav.getSamples(false, Int32Array) as unknown as Int32Array);
    expect(back).toEqual([0, half, Math.round(-top * 0.5), top, -top, top, -top, 0]);
  });

  it('writes what the reader reads', () => expectTone(encodeWav(PLANE, RATE, 24)));
});

describe('impossible headers', () => {
  const data = chunk('data', pcm([PLANE], 16));
  const CASES: readonly [string, Fmt, RegExp][] = [
    ['0 channels', { channels: 0, blockAlign: 2 }, /0 channels/],
    ['60000 channels', { channels: 60_000, blockAlign: 2 }, /60,000 channels; the limit is 64/],
    ['0 Hz', { rate: 0 }, /sample rate of 0 Hz/],
    ['3 GHz', { rate: 3_000_000_000 }, /sample rate of 3000000000 Hz/],
    ['1 Hz', { rate: 1 }, /sample rate of 1 Hz/],
    ['blocks of 0 bytes', { blockAlign: 0 }, /block of 0 bytes/],
    ['blocks of 7 bytes', { blockAlign: 7 }, /block of 7 bytes/],
    ['0 bits', { bits: 0, blockAlign: 2 }, /0-bit/],
    ['300 bits', { bits: 300, blockAlign: 2 }, /300-bit/],
    ['16-bit float', { tag: 3 }, /16-bit floating-point/],
    ['mu-law in blocks of 0 bytes', { tag: 7, bits: 8, blockAlign: 0 }, /blocks of 0 bytes/],
  ];
  it.each(CASES)('%s', async (_, header, message) => {
    await expect(readBytes(folder, riff(fmt(header), data))).rejects.toMatchObject({
      code: 'E_DAMAGED_AUDIO',
      message: expect.stringMatching(message),
    });
  });

  it('names an unknown codec', async () => {
    await expect(readBytes(folder, riff(fmt({ tag: 0x55 }), data))).rejects.toMatchObject({
      code: 'E_NOT_AUDIO',
      message: expect.stringContaining('format tag 85'),
    });
    const unfinished = fmt({ tag: 0xfffe, extra: u16(0) });
    await expect(readBytes(folder, riff(unfinished, data))).rejects.toMatchObject({
      code: 'E_DAMAGED_AUDIO',
    });
  });

  it('survives any values in the format chunk', async () => {
    for (let seed = 1; seed < 200; seed++) {
      let state = seed * 2654435761;
      const body = Uint8Array.from({ length: 40 }, () => {
        state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
        return state >>> 24;
      });
      body[0] = [1, 3, 0xfe, 6, 2, 0x11][seed % 6];
      body[1] = seed % 6 === 2 ? 0xff : 0;
      const outcome = await readBytes(folder, riff(chunk('fmt ', body), data)).then(
        () => 'read',
        (error) => error.code,
      );
      expect(outcome).toMatch(/^(read|E_NOT_AUDIO|E_DAMAGED_AUDIO)$/);
    }
  });
});
