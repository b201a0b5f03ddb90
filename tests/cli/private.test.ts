import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { hostname, tmpdir, userInfo } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { constants, inflateSync } from 'node:zlib';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.ts';
import { reportFault } from '../../src/cli/terminal/fault-report.ts';
import { soundTab } from '../../src/sound/tab-sound.ts';
import { encodeWav } from '../../src/sound/write-wav.ts';
import { edit, openEdits } from '../../src/take/edits/edits.ts';
import { hashTake, Journal, journalPath } from '../../src/take/files/journal.ts';
import { formatTake } from '../../src/take/format.ts';
import { playTune } from '../export/tunes.ts';
import { captureIo } from './captured-io.ts';

const { take } = playTune('amazing-grace');
const BIN = fileURLToPath(new URL('../../bin/reedtrace.js', import.meta.url));

/** A recording with what telephones write into theirs: device and place (RIFF, LIST INFO). */
function taggedRecording(): Buffer {
  const notes = take.notes
    .slice(0, 6)
    .map(({ onsetSec, offsetSec, f0Hz }) => ({ onsetSec, offsetSec, f0Hz }));
  const wav = Buffer.from(encodeWav(soundTab(notes, 0, take.notes[6].onsetSec, 16_000), 16_000, 16));
  const tag = (id: string, text: string) => {
    const body = Buffer.from(`${text}\0`.padEnd(2 * Math.ceil((text.length + 1) / 2), '\0'));
    const head = Buffer.from(`${id}\0\0\0\0`);
    head.writeUInt32LE(body.length, 4);
    return Buffer.concat([head, body]);
  };
  const info = Buffer.concat([Buffer.from('INFO'), tag('ISRF', 'SECRETDEVICE'), tag('IARL', 'SECRETPLACE')]);
  const list = Buffer.from('LIST\0\0\0\0');
  list.writeUInt32LE(info.length, 4);
  const whole = Buffer.concat([wav, list, info]);
  whole.writeUInt32LE(whole.length - 8, 4);
  return whole;
}

let dir: string;
let folder: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-private-'));
  folder = join(dir, 'SECRETFOLDER');
  mkdirSync(folder);
  writeFileSync(join(folder, 'kitchen.wav'), taggedRecording());
  writeFileSync(
    join(folder, 'tune.take.json'),
    formatTake({ ...take, source: { ...take.source, file: 'kitchen.wav' } }),
  );
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

/** A line break before `endstream` may be the last byte of what is packed. */
const END = { finishFlush: constants.Z_SYNC_FLUSH };

/** What is packed in a PDF (ISO 32000-1, 7.3.8 and 7.4.4), and texts of it in UTF-16 without their zero bytes. */
function streamsOf(file: string): string[] {
  if (!file.startsWith('%PDF')) return [];
  const packed = [...file.matchAll(/FlateDecode[\s\S]*?stream\r?\n([\s\S]*?)\r?\nendstream/g)];
  const streams = packed.map(([, bytes]) =>
    inflateSync(Buffer.from(bytes, 'latin1'), END).toString('latin1'),
  );
  expect(streams.length).toBeGreaterThan(2);
  return [...streams, file].map((text) => text.replaceAll('\0', ''));
}

describe('an export', () => {
  it('reveals no folder, user, computer, device or place', { timeout: 120_000 }, async () => {
    const { io } = captureIo();
    const made = await run(
      ['transcribe', join(folder, 'kitchen.wav'), '--harp', 'C', '--out', join(folder, 'k.take.json')],
      io,
    );
    expect(made).toBe(0);
    const formats = 'tab,musicxml,midi,abc,csv,json,pdf,svg,html,bends';
    for (const name of ['tune', 'k']) {
      expect(await run(['export', join(folder, `${name}.take.json`), '--as', formats], io)).toBe(0);
    }
    const files = readdirSync(folder).filter((name) => name !== 'kitchen.wav');
    expect(files.length).toBeGreaterThanOrEqual(2 * 9 + 2);
    // A short name of a user or computer may be part of any text.
    const names = [userInfo().username, hostname()].filter((name) => name.length > 6);
    const secrets = ['SECRETFOLDER', 'SECRETDEVICE', 'SECRETPLACE', ...names];
    for (const name of files) {
      const text = readFileSync(join(folder, name), 'latin1');
      const sounds = [...text.matchAll(/base64,([\w+/=]+)/g)].map(([, data]) =>
        Buffer.from(data, 'base64').toString('latin1'),
      );
      const parts = [text, ...sounds, ...streamsOf(text)];
      const told = secrets.filter((secret) => parts.some((part) => part.includes(secret)));
      expect(told, name).toEqual([]);
    }
  });
});

describe('the report of an internal error', () => {
  it('contains no words, and only the last name of each path', () => {
    const { io, texts } = captureIo({ reportDir: dir });
    const cause = new RangeError(`Unexpected token 'Amazing grace' in /home/SECRETUSER/words.txt`);
    const error = new TypeError(`can't read "How sweet" of C:\\Users\\SECRETUSER\\take.wav`, { cause });
    error.stack = `${error.stack}\n    at read (file:///home/SECRETUSER/lib/node_modules/reedtrace/dist/take/store.js:1:2)`;
    reportFault(
      io,
      error,
      [
        ...['export', '/home/SECRETUSER/take.take.json', '--words=/home/SECRETUSER/w.txt'],
        ...['--title', 'Amazing', '--by=sweet'],
      ],
      false,
    );
    const [name] = readdirSync(dir).filter((file) => file.startsWith('reedtrace-fault-'));
    const text = readFileSync(join(dir, name), 'utf8');
    expect(text).not.toMatch(/SECRETUSER|Amazing|sweet/);
    expect(text).toContain('["export","take.take.json","--words=w.txt","--title","…","--by=…"]');
    expect(text).toMatch(/^TypeError: .*take\.wav$/m);
    expect(text).toContain('node_modules/reedtrace/dist/take/store.js:1:2');
    expect(text).toMatch(/^caused by: RangeError: .*words\.txt$/m);
    expect(statSync(join(dir, name)).mode & 0o777).toBe(0o600);
    expect(texts.stderr).toContain(name);
  });
});

describe.skipIf(process.platform === 'win32')('files next to a take', () => {
  it('can be read by those who can read the take', async () => {
    const path = join(folder, 'tune.take.json');
    chmodSync(path, 0o600);
    const journal = new Journal(journalPath(path), hashTake(''), null, () => {});
    const done = edit(openEdits(take), { kind: 'accept', ids: ['n1'] }, { at: '2026-11-25T12:00:00.000Z' });
    if (done === null) throw new Error('not accepted');
    journal.append(done.edit);
    await journal.close();
    expect(statSync(journalPath(path)).mode & 0o777).toBe(0o600);
    const { io } = captureIo();
    expect(await run(['export', path, '--as', 'tab', '--bpm', '90', '--no-save'], io)).toBe(0);
  });
});

const hasStrace = spawnSync('strace', ['-o', '/dev/null', 'true']).status === 0;

/** The system shows what reading the source can't: whether any library opens a socket. */
describe.skipIf(!hasStrace)('no command opens a socket to a network (strace)', () => {
  /** Runs Node under strace. @returns what was told on standard error, and the sockets that were opened */
  const traced = (...args: readonly string[]) => {
    const log = join(dir, 'log');
    const options = ['-f', '--seccomp-bpf', '-qq', '-e', 'trace=socket,connect', '-o', log];
    const { stderr } = spawnSync('strace', [...options, process.execPath, ...args], {
      cwd: folder,
      encoding: 'utf8',
    });
    return { stderr, sockets: readFileSync(log, 'utf8') };
  };

  it('and the test would notice one', () => {
    const script = "require('node:net').connect(9, '127.0.0.1').on('error', () => {})";
    expect(traced('-e', script).sockets).toMatch(/AF_INET/);
  });

  it.each([
    ['transcribe', 'kitchen.wav', '--harp', 'C', '--no-save'],
    ['export', 'tune.take.json', '--as', 'tab,musicxml,midi,abc,csv,json,pdf,svg,html,bends', '--force'],
    ['check', 'tune.take.json', '--against', 'tune.take.json'],
    ['bends', 'tune.take.json', 'kitchen.wav'],
    ['check', '.', '--against', 'tune.take.json', '--out', 'class'],
    ['lesson', 'tune.take.json', '--easier'],
    ['recording', 'kitchen.wav'],
    ['arrange', 'tune.take.json', '--take', '1'],
    ['harp', 'A'],
    ['doctor'],
    ['completion', 'bash'],
    ['man'],
    ['play', 'tune.take.json', '--sound', 'tab', '--phrase', '1', '--out', 'x.wav'],
    ['correct', 'tune.take.json'],
    ['--help'],
  ])('%s', { timeout: 120_000 }, (...argv) => {
    const { stderr, sockets } = traced(BIN, ...argv);
    expect(stderr).not.toMatch(/internal error/);
    expect(sockets).not.toMatch(/AF_INET/);
  });
});
