import {
  linkSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.ts';
import { KeptFiles } from '../../src/files/kept-files.ts';
import { soundTab } from '../../src/sound/tab-sound.ts';
import { encodeWav } from '../../src/sound/write-wav.ts';
import { formatTake } from '../../src/take/format.ts';
import { captureIo } from '../cli/captured-io.ts';
import { AMAZING_GRACE, playTune } from '../export/tunes.ts';

const { take } = playTune('amazing-grace');
const [first] = take.notes;
const RECORDING = Buffer.from(encodeWav(soundTab([first], 0, first.offsetSec, 8000), 8000, 16));

let dir: string;
const at = (name: string) => join(dir, name);
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-kept-'));
  mkdirSync(at('real'));
  symlinkSync(at('real'), at('linked'));
  writeFileSync(at('real/tune.wav'), RECORDING);
  writeFileSync(
    at('real/tune.take.json'),
    formatTake({ ...take, source: { ...take.source, file: 'tune.wav' } }),
  );
  writeFileSync(at('real/tune.txt'), AMAZING_GRACE);
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

/** All that is under the folder, by name: nothing that a command read may differ after it. */
const all = () =>
  new Map(
    readdirSync(dir, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map(({ parentPath, name }) => [
        join(parentPath, name),
        readFileSync(join(parentPath, name), 'latin1'),
      ]),
  );

describe('files that are kept', () => {
  it.each([
    ['by another path', 'real/../real/tune.wav', () => {}],
    ['through a linked folder', 'linked/tune.wav', () => {}],
    ['through a link', 'link', () => symlinkSync(at('real/tune.wav'), at('link'))],
    [
      'through a link to a link',
      'link',
      () => {
        symlinkSync(at('linked/tune.wav'), at('other'));
        symlinkSync(at('other'), at('link'));
      },
    ],
    ['under a second name', 'second', () => linkSync(at('real/tune.wav'), at('second'))],
  ])('are known %s', async (_how, path, prepare) => {
    prepare();
    const kept = new KeptFiles([[at('real/tune.wav'), 'the recording']]);
    expect(await kept.find(at(path))).toBe('the recording');
    expect(await kept.find(at('real/tune.txt'))).toBeNull();
    expect(await kept.find(at('new.txt'))).toBeNull();
  });
});

describe('with --force', () => {
  const other = () => symlinkSync(at('real/tune.wav'), at('link'));
  const anotherRecording = () => writeFileSync(at('other.wav'), RECORDING);
  it.each<[string, readonly string[], () => void, number]>([
    [
      'transcribe leaves the recording behind a link',
      ['transcribe', 'real/tune.wav', '--out', 'link'],
      other,
      2,
    ],
    [
      'transcribe leaves a recording that it does not read',
      ['transcribe', 'real/tune.wav', '--out', 'other.wav'],
      anotherRecording,
      2,
    ],
    [
      'export leaves the words in a linked folder',
      ['export', 'real/tune.take.json', '--words', 'real/tune.txt', '--as', 'tab', '--out', 'linked'],
      () => {},
      5,
    ],
    [
      'export leaves the take behind a link',
      ['export', 'real/tune.take.json', '--as', 'json', '--out', '.'],
      () => symlinkSync(at('real/tune.take.json'), at('tune.json')),
      5,
    ],
    [
      'export leaves the recording of the take',
      ['export', 'real/tune.take.json', '--as', 'tab', '--out', '.'],
      () => linkSync(at('real/tune.wav'), at('tune.txt')),
      5,
    ],
    [
      'export leaves a recording that it does not read',
      ['export', 'real/tune.take.json', '--as', 'tab', '--out', '.'],
      () => writeFileSync(at('tune.txt'), RECORDING),
      5,
    ],
    [
      'play leaves the recording, also where only tab is heard',
      ['play', 'real/tune.take.json', '--sound', 'tab', '--out', 'linked/tune.wav'],
      () => {},
      2,
    ],
    [
      'play leaves the take behind a link',
      ['play', 'real/tune.take.json', '--sound', 'tab', '--out', 'link'],
      () => symlinkSync(at('real/tune.take.json'), at('link')),
      2,
    ],
  ])('%s', async (_what, argv, prepare, expected) => {
    prepare();
    const before = all();
    const isFile = (arg: string) => arg.includes('/') || /^(link|linked|other\.wav|\.)$/.test(arg);
    const { io, texts } = captureIo();
    const code = await run([...argv.map((arg) => (isFile(arg) ? at(arg) : arg)), '--force'], io);
    expect({ code, stderr: texts.stderr }).toEqual({
      code: expected,
      stderr: expect.stringMatching(/^(remark: [^\n]*\n)?error: '[^\n]*; [^\n]*`--out`[^\n]*\n$/),
    });
    expect(all()).toEqual(before);
  });
});
