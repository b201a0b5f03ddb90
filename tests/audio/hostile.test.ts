import { spawnSync } from 'node:child_process';
import { chmodSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { readRecording } from '../../src/audio/read.ts';
import {
  chunk,
  fixture,
  fmt,
  joined,
  pcm,
  refusal,
  riff,
  temporaryFolder,
  text,
  tone,
  u32,
} from './support.ts';

const folder = temporaryFolder();

function made(name: string, bytes: Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return path;
}

function random(length: number, seed: number): Uint8Array {
  let state = seed;
  return Uint8Array.from({ length }, () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state >>> 24;
  });
}

afterEach(() => vi.restoreAllMocks());

describe('files that are not recordings', () => {
  const utf8 = new TextEncoder();
  const CASES: readonly [name: string, bytes: Uint8Array, code: string, message: RegExp][] = [
    ['empty', new Uint8Array(0), 'E_NOT_AUDIO', /is empty \(0 bytes\)/],
    ['text', utf8.encode('4 -4 5 -5 é\n'.repeat(50)), 'E_NOT_AUDIO', /a text file/],
    ['UTF-16 text', joined(Uint8Array.of(0xff, 0xfe), random(400, 3)), 'E_NOT_AUDIO', /a text file/],
    ['a web page', utf8.encode('<!DOCTYPE html><html></html>'), 'E_NOT_AUDIO', /a web page/],
    ['PNG', joined(Uint8Array.of(0x89), text('PNG\r\n\x1a\n'), random(300, 1)), 'E_NOT_AUDIO', /PNG picture/],
    ['JPEG', joined(Uint8Array.of(0xff, 0xd8, 0xff, 0xe0), random(300, 1)), 'E_NOT_AUDIO', /JPEG picture/],
    ['PDF', text('%PDF-1.7\n%aaaa'), 'E_NOT_AUDIO', /PDF document/],
    ['ZIP', joined(text('PK\x03\x04'), random(300, 2)), 'E_NOT_AUDIO', /ZIP archive/],
    ['gzip', gzipSync(text('tone')), 'E_NOT_AUDIO', /gzip archive/],
    [
      'MIDI',
      joined(text('MThd'), u32(6, true), new Uint8Array(6)),
      'E_NOT_AUDIO',
      /MIDI file, which holds notes/,
    ],
    ['zeros', new Uint8Array(5000), 'E_NOT_AUDIO', /zeros/],
    ['one byte', Uint8Array.of(0x52), 'E_NOT_AUDIO', /./],
    ['4 bytes of a WAV', text('RIFF'), 'E_DAMAGED_AUDIO', /ends inside its header \(4 bytes/],
    ['no format chunk', riff(chunk('data', new Uint8Array(400))), 'E_DAMAGED_AUDIO', /no format chunk/],
    ['no sound chunk', riff(fmt()), 'E_DAMAGED_AUDIO', /ends before its sound begins/],
    ['a header only', riff(fmt(), chunk('data', new Uint8Array(0))), 'E_DAMAGED_AUDIO', /no sound after it/],
    [
      'no samples before another chunk',
      riff(fmt(), chunk('data', new Uint8Array(0)), chunk('LIST', new Uint8Array(500))),
      'E_DAMAGED_AUDIO',
      /no sound after it/,
    ],
    ['AVI', joined(text('RIFF'), u32(400), text('AVI '), random(300, 4)), 'E_NOT_AUDIO', /AVI video/],
  ];
  it.each(CASES)('%s', async (_, bytes, code, message) => {
    const error = await refusal(made('take.wav', bytes));
    expect(error.code).toBe(code);
    expect(error.message).toMatch(message);
    expect(error.message).toContain("'take.wav'");
    expect(error.message).not.toContain('\n');
    expect(error.fix).toMatch(/^[^A-Z].*[^.]$/);
  });

  it('refuses WMA, whose onsets the decoder shifts', async () => {
    expect(await refusal(fixture('tone.wma'))).toMatchObject({
      code: 'E_NOT_AUDIO',
      message: expect.stringContaining('WMA'),
    });
  });

  it('says that a video has no sound', async () => {
    const whole = readFileSync(fixture('video.mp4'));
    const handler = whole.indexOf('soun');
    const entry = whole.indexOf('mp4a');
    whole.write('subt', handler);
    whole.write('xxxx', entry);
    expect(await refusal(made('film.mp4', whole))).toMatchObject({
      code: 'E_NOT_AUDIO',
      message: expect.stringContaining('without a sound track'),
    });
  });

  it('distinguishes a missing file, a folder and a device', async () => {
    expect(await refusal(join(folder, 'none.wav'))).toMatchObject({ code: 'E_NOT_FOUND' });
    mkdirSync(join(folder, 'takes.wav'));
    const nested = await refusal(join(folder, 'takes.wav'));
    expect(nested).toMatchObject({ code: 'E_NOT_A_FILE', message: expect.stringContaining('is a folder') });
    made('file.wav', text('x'));
    expect(await refusal(join(folder, 'file.wav', 'inside'))).toMatchObject({ code: 'E_NOT_FOUND' });
  });

  it.skipIf(process.platform === 'win32')('refuses a device', async () => {
    expect(await refusal('/dev/null')).toMatchObject({ code: 'E_NOT_A_FILE' });
  });

  // The superuser may read everything.
  it.skipIf(process.platform === 'win32' || process.getuid?.() === 0)(
    'says when reading is not allowed',
    async () => {
      const path = made('locked.wav', riff(fmt(), chunk('data', pcm([tone(16_000)], 16))));
      chmodSync(path, 0);
      expect(await refusal(path)).toMatchObject({ message: expect.stringContaining('permission denied') });
    },
  );
});

describe('truncated and damaged files', () => {
  it('reads what is left of a truncated WAV, and says so', async () => {
    const whole = riff(fmt(), chunk('data', pcm([tone(16_000)], 16)));
    const { source, remarks } = await readRecording(made('cut.wav', whole.subarray(0, 44 + 4801)));
    expect(source.durationSec).toBe(0.15);
    expect(remarks).toEqual(['the file ends early: 0.15 s of the announced 0.40 s could be read']);
  });

  it('reads what is left of truncated compressed files, and says so', async () => {
    for (const [name, share] of [
      ['tone.flac', 0.85], // the first two thirds are padding for tags
      ['tone.mp3', 0.5],
      ['index-first.m4a', 0.6],
      ['tone.aiff', 0.5],
      ['tone.caf', 0.6],
      ['tone.ogg', 0.95],
      ['tone.opus', 0.6],
      ['tone.webm', 0.6],
      ['ima.wav', 0.5],
    ] as const) {
      const bytes = readFileSync(fixture(name));
      const { source, remarks } = await readRecording(
        made(`cut-${name}`, bytes.subarray(0, bytes.length * share)),
      );
      expect(source.durationSec, name).toBeLessThan(0.4);
      expect(remarks.join(), name).toMatch(
        /^the file (ends early: 0\.\d+ s of the announced 0\.\d+ s|has no proper end)/,
      );
    }
  });

  it('says that the index of a truncated M4A is missing', async () => {
    const bytes = readFileSync(fixture('tone.m4a'));
    const error = await refusal(made('cut.m4a', bytes.subarray(0, bytes.length * 0.7)));
    expect(error).toMatchObject({ code: 'E_DAMAGED_AUDIO', message: expect.stringContaining('index') });
  });

  it('survives every format truncated anywhere, filled with noise, or with flipped bytes', {
    timeout: 120_000,
  }, async () => {
    const printed = vi.spyOn(console, 'error');
    const warned = vi.spyOn(console, 'warn');
    const logged = vi.spyOn(console, 'log');
    let seed = 1;
    // A few of each; the fuzzer makes others each time.
    for (const name of readdirSync(fixture('.'))) {
      const whole = new Uint8Array(readFileSync(fixture(name)));
      const variants: Uint8Array[] = [];
      for (const share of [0.02, 0.5, 0.97])
        variants.push(whole.subarray(0, Math.ceil(whole.length * share)));
      for (const kept of [16, 300]) variants.push(joined(whole.subarray(0, kept), random(3000, ++seed)));
      for (let n = 0; n < 4; n++) {
        const turned = whole.slice();
        const places = random(8, ++seed);
        for (const place of places) turned[(place * 7919 * (n + 1)) % (n % 2 ? turned.length : 400)] ^= 0x5a;
        variants.push(turned);
      }
      for (const bytes of variants) {
        const outcome = await readRecording(made('hostile.bin', bytes)).then(
          (recording) => (recording.source.durationSec > 0 ? 'read' : 'nothing'),
          (error) => error.code ?? error,
        );
        expect(outcome, name).toMatch(/^(read|E_NOT_AUDIO|E_DAMAGED_AUDIO)$/);
      }
    }
    for (const spy of [printed, warned, logged]) expect(spy).not.toHaveBeenCalled();
  });
});

describe('standard input', () => {
  it('reads a piped recording and leaves nothing behind', () => {
    const reader = new URL('../../src/audio/read.ts', import.meta.url).href;
    const script = `import(${JSON.stringify(reader)}).then(async ({ readRecording }) => {
      const { source } = await readRecording('-'); console.log(JSON.stringify(source)); });`;
    const temporary = join(folder, 'temporary');
    mkdirSync(temporary);
    const { stdout, stderr } = spawnSync(process.execPath, ['--import', 'tsx', '-e', script], {
      input: readFileSync(fixture('tone.m4a')),
      encoding: 'utf8',
      env: { ...process.env, TMPDIR: temporary, TEMP: temporary, TMP: temporary },
    });
    expect(stderr).toBe('');
    expect(JSON.parse(stdout)).toMatchObject({
      file: 'standard input',
      durationSec: 0.4,
      sampleRate: 44_100,
    });
    expect(readdirSync(temporary).filter((name) => name.startsWith('reedtrace'))).toEqual([]);
  });
});
