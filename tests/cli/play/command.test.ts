import { chmodSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../../../src/cli/run.ts';
import { countInTimes } from '../../../src/music/rhythm/count-in.ts';
import { soundTab } from '../../../src/sound/tab-sound.ts';
import { encodeWav } from '../../../src/sound/write-wav.ts';
import { formatTake } from '../../../src/take/format.ts';
import { playTune } from '../../export/tunes.ts';
import { captureIo } from '../captured-io.ts';

const { take } = playTune('amazing-grace');
const { durationSec } = take.source;
const RATE = 22_050;

let dir: string;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-play-test-'));
  const notes = take.notes.map(({ onsetSec, offsetSec, f0Hz }) => ({ onsetSec, offsetSec, f0Hz }));
  writeFileSync(join(dir, take.source.file), encodeWav(soundTab(notes, 0, durationSec, RATE), RATE, 16));
  writeFileSync(join(dir, 'a.take.json'), formatTake(take));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

async function play(args: readonly string[], setup: Parameters<typeof captureIo>[0] = {}) {
  const { io, texts } = captureIo(setup);
  const code = await run(['play', ...args.map((arg) => arg.replace('DIR', dir))], io);
  return { code, stdout: texts.stdout.replaceAll(dir, 'DIR'), stderr: texts.stderr.replaceAll(dir, 'DIR') };
}

/** Samples of a 16-bit mono WAV file with the shortest header (Multimedia Programming Interface 1.0, 1991). */
function readWav(name: string): { rate: number; samples: Float32Array } {
  const bytes = readFileSync(join(dir, name));
  expect(bytes.toString('latin1', 0, 4) + bytes.toString('latin1', 8, 12)).toBe('RIFFWAVE');
  const samples = new Float32Array((bytes.length - 44) / 2);
  for (let i = 0; i < samples.length; i++) samples[i] = bytes.readInt16LE(44 + 2 * i) / 32768;
  return { rate: bytes.readUInt32LE(24), samples };
}

/** Rising zero crossings of the fundamental, counted after a plain low-pass: Hz by a way of our own. */
function pitchHz(samples: Float32Array, rate: number, fromSec: number, toSec: number): number {
  const part = samples.subarray(Math.round(fromSec * rate), Math.round(toSec * rate));
  // Autocorrelation by hand, the first lag that comes within 5 % of the best.
  const score = (lag: number) => {
    let sum = 0;
    for (let i = 0; i + lag < part.length; i++) sum += part[i] * part[i + lag];
    return sum / (part.length - lag);
  };
  const lags = Array.from({ length: Math.round(rate / 80) }, (_, i) => i + Math.round(rate / 2500));
  const scores = lags.map(score);
  const best = Math.max(...scores);
  const at = scores.findIndex(
    (value, i) => value > 0.95 * best && value >= scores[i - 1] && value >= scores[i + 1],
  );
  return rate / lags[at];
}

const phraseSec = (index: number) => {
  const { firstNote, lastNote } = take.phrases[index];
  return take.notes[lastNote].offsetSec - take.notes[firstNote].onsetSec;
};

describe('reedtrace play --out', () => {
  it('plays a soft recording as loud as a loud one', async () => {
    const whole = soundTab(
      take.notes.map(({ onsetSec, offsetSec, f0Hz }) => ({ onsetSec, offsetSec, f0Hz })),
      0,
      durationSec,
      RATE,
    );
    const rms: number[] = [];
    for (const [i, level] of [0.1, 1].entries()) {
      const name = `level-${i}.wav`;
      writeFileSync(
        join(dir, name),
        encodeWav(
          whole.map((value) => level * value),
          RATE,
          16,
        ),
      );
      await play([
        'DIR/a.take.json',
        '--recording',
        `DIR/${name}`,
        '--phrase',
        '1',
        '--quiet',
        '--out',
        `DIR/even-${i}.wav`,
      ]);
      const { samples } = readWav(`even-${i}.wav`);
      rms.push(Math.sqrt(samples.reduce((sum, value) => sum + value * value, 0) / samples.length));
    }
    expect(Math.abs(20 * Math.log10(rms[0] / rms[1]))).toBeLessThan(0.5);
  });

  it('writes a phrase at half speed: twice as long, at the same pitch', async () => {
    const held = await play(['DIR/a.take.json', '--phrase', '2', '--speed', '50%', '--out', 'DIR/half.wav']);
    // The test's recording is not the file of the take, and that is said.
    expect(held).toEqual({
      code: 0,
      stdout: 'DIR/half.wav\n',
      stderr: `remark: 'DIR/${take.source.file}' is not the file that the take was made from: times may not match\n`,
    });
    const { rate, samples } = readWav('half.wav');
    const sec = samples.length / rate;
    expect(sec).toBeGreaterThan(2 * phraseSec(1));
    expect(sec).toBeLessThan(2 * (phraseSec(1) + 0.4));
    const long = take.notes
      .slice(take.phrases[1].firstNote, take.phrases[1].lastNote + 1)
      .find((note) => note.offsetSec - note.onsetSec > 0.6)!;
    const start = take.notes[take.phrases[1].firstNote].onsetSec - 0.1;
    const heard = pitchHz(
      samples,
      rate,
      2 * (long.onsetSec - start) + 0.2,
      2 * (long.onsetSec - start) + 0.8,
    );
    expect(Math.abs(1200 * Math.log2(heard / long.f0Hz))).toBeLessThan(40);
  });

  it('plays the tab without a recording, in tune with its harp', async () => {
    mkdirSync(join(dir, 'alone'));
    writeFileSync(join(dir, 'alone', 'a.take.json'), formatTake(take));
    const held = await play(['DIR/alone/a.take.json', '--sound', 'tab', '--out', 'DIR/tab.wav']);
    expect(held).toEqual({ code: 0, stdout: 'DIR/tab.wav\n', stderr: '' });
    const { rate, samples } = readWav('tab.wav');
    const long = take.notes.find((note) => note.offsetSec - note.onsetSec > 0.6)!;
    const at = long.onsetSec - take.notes[0].onsetSec + 0.1;
    const heard = pitchHz(samples, rate, at + 0.1, at + 0.5);
    expect(Math.abs(1200 * Math.log2(heard / long.f0Hz))).toBeLessThan(25);
  });

  it('counts in and leaves time for an answer', async () => {
    const plain = ['DIR/a.take.json', '--sound', 'tab', '--phrase', '1-2', '--force', '--out', 'DIR/x.wav'];
    const secOf = async (...more: string[]) => {
      await play([...plain, ...more]);
      const { rate, samples } = readWav('x.wav');
      return samples.length / rate;
    };
    const once = await secOf();
    // Four clicks before the first note (96 quarter notes a minute, 0.625 s): at least three beats more.
    const counted = (await secOf('--count-in', '4')) - once;
    expect(counted).toBeGreaterThan(3 * 0.625);
    expect(counted).toBeLessThan(4 * 0.625 + 0.1);
    const answered = (await secOf('--answer')) - once;
    expect(answered).toBeGreaterThan(phraseSec(0) + phraseSec(1) - 0.3);
    expect(answered).toBeLessThan(phraseSec(0) + phraseSec(1) + 0.5);
  });

  it('overwrites no file without --force, and never the recording or the take', async () => {
    writeFileSync(join(dir, 'mine.wav'), 'mine');
    expect(await play(['DIR/a.take.json', '--out', 'DIR/mine.wav'])).toMatchObject({
      code: 5,
      stderr:
        "error: 'DIR/mine.wav' already exists; add `--force` to replace it, or give `--out` another name\n",
    });
    expect(readFileSync(join(dir, 'mine.wav'), 'utf8')).toBe('mine');
    for (const kept of [take.source.file, 'a.take.json']) {
      const before = readFileSync(join(dir, kept));
      const held = await play(['DIR/a.take.json', '--force', '--out', `DIR/${kept}`]);
      expect(held.code).toBe(2);
      expect(readFileSync(join(dir, kept)).equals(before)).toBe(true);
    }
  });

  it.each([
    [['--phrase', '99'], 2, 'there is no phrase 99: the take has 4'],
    [['--phrase', '3-2'], 2, 'Give the number of a phrase'],
    [['--speed', '0.1'], 2, 'Give 0.25 to 2'],
    [['--count-in', '0'], 2, 'Give a number of clicks'],
    [['--loop'], 2, "'--loop' cannot be used with option '--out <file>'"],
    [['--recording', 'no-such.wav'], 3, "the recording 'no-such.wav' of the take does not exist"],
  ])('refuses %j', async (args, code, words) => {
    const held = await play(['DIR/a.take.json', '--out', 'DIR/refused.wav', ...args]);
    expect(held.code).toBe(code);
    expect(held.stderr).toContain(words);
    expect(readdirSync(dir)).not.toContain('refused.wav');
  });
});

describe('reedtrace play', () => {
  it('says what to install when there is no player', async () => {
    const held = await play(['DIR/a.take.json'], { env: { PATH: '/nowhere' } });
    expect(held).toMatchObject({ code: 5, stdout: '' });
    expect(held.stderr).toMatch(
      /^error: no sound player was found; install .*; or write a file with `--out`\n$/,
    );
  });

  it.skipIf(process.platform !== 'linux')('plays through the player and says when it fails', async () => {
    const bin = join(dir, 'bin');
    mkdirSync(bin);
    const script = (text: string) => {
      writeFileSync(join(bin, 'pw-play'), `#!/bin/sh\n${text}\n`);
      chmodSync(join(bin, 'pw-play'), 0o755);
    };
    const path = process.env.PATH;
    process.env.PATH = `${bin}:${path}`;
    try {
      script(`cp "$1" '${dir}/heard.wav'`);
      const args = ['DIR/a.take.json', '--sound', 'tab', '--phrase', '1'];
      const held = await play(args, { env: { PATH: bin } });
      expect(held.code).toBe(0);
      expect(held.stderr).toMatch(
        /^playing the tab, phrase 1, \[0:00\] to \[0:0\d\]; on headphones keep the level moderate\n$/,
      );
      expect(readWav('heard.wav').samples.length / 44_100).toBeGreaterThan(phraseSec(0));
      script('exit 3');
      expect(await play(args, { env: { PATH: bin } })).toMatchObject({ code: 5 });
      script('exec sleep 60');
      const stop = new AbortController();
      setTimeout(() => stop.abort(), 300);
      const stopped = await play([...args, '--loop'], { env: { PATH: bin }, signal: stop.signal });
      expect(stopped.code).toBe(130);
    } finally {
      process.env.PATH = path;
    }
  });
});

describe('counting in', () => {
  // [calc] 120 quarter notes a minute: 0.5 s each.
  const grid = (count: number, unit: number) => ({
    tempoBpm: 120,
    metre: { count, unit },
    gridSec: [1, 1.5, 2, 2.5, 3],
  });
  it.each([
    ['4/4 on the beat', grid(4, 4), { onsetSec: 1, atTicks: 0 }, undefined, [-1, -0.5, 0, 0.5]],
    [
      '3/4 with its pick-up on beat three',
      grid(3, 4),
      { onsetSec: 2, atTicks: 24 },
      undefined,
      [0.5, 1, 1.5],
    ],
    ['an eighth after the beat', grid(4, 4), { onsetSec: 1.25, atTicks: 6 }, 2, [0.5, 1]],
    ['6/8 in eighths', grid(6, 8), { onsetSec: 1, atTicks: 0 }, 3, [0.25, 0.5, 0.75]],
    [
      'free time',
      { tempoBpm: 60, metre: null, gridSec: [] },
      { onsetSec: 5, atTicks: 7 },
      undefined,
      [1, 2, 3, 4],
    ],
  ] as const)('%s', (_what, beats, note, clicks, times) => {
    expect(countInTimes(beats, note, clicks)).toEqual(times);
  });
});
