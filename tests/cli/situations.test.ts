import { execFileSync, spawn, spawnSync } from 'node:child_process';
import {
  copyFileSync,
  cpSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { formatTake } from '../../src/take/format.ts';
import { playTune } from '../export/tunes.ts';

// The built program, as `npm test` makes it.
const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const BIN = join(ROOT, 'bin/reedtrace.js');
const WAV = join(ROOT, 'samples/bending-exercise.wav');
const TAKE = formatTake(playTune('amazing-grace').take);

let dir: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-situations-'));
  writeFileSync(join(dir, 'tune.take.json'), TAKE);
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

function reedtrace(argv: readonly string[], input: string | Buffer = '', env: NodeJS.ProcessEnv = {}) {
  const done = spawnSync(process.execPath, [BIN, ...argv], {
    cwd: dir,
    input,
    encoding: 'utf8',
    env: { ...process.env, ...env },
    timeout: 20_000,
  });
  return { code: done.status, stdout: done.stdout, stderr: done.stderr };
}

/** More than fits between two processes: all of it has gone only when the program reads. */
const MORE_THAN_BUFFERED = Buffer.alloc(1024 * 1024, ' ');

/** Starts the program, and ends it by a signal once it reads standard input. */
async function stoppedReading(argv: readonly string[], signal: NodeJS.Signals) {
  const child = spawn(process.execPath, [BIN, ...argv], { cwd: dir, stdio: ['pipe', 'ignore', 'pipe'] });
  let stderr = '';
  child.stderr.on('data', (text) => {
    stderr += text;
  });
  child.stdin.on('error', () => {});
  const ended = new Promise<number | null>((resolve) => child.on('close', resolve));
  await new Promise((resolve) => child.stdin.write(MORE_THAN_BUFFERED, resolve));
  child.kill(signal);
  return { code: await ended, stderr };
}

describe.skipIf(process.platform === 'win32')('a pipe that nobody writes to', () => {
  it.each([
    [['transcribe', 'pipe']],
    [['check', 'pipe', '--against', 'tune.take.json']],
    [['check', 'tune.take.json', '--against', 'pipe']],
    [['bends', 'pipe']],
    [['arrange', 'pipe']],
    [['play', 'pipe', '--out', 'x.wav']],
    [['export', 'pipe', '--as', 'tab']],
    [['export', 'tune.take.json', '--as', 'tab', '--words', 'pipe']],
    [['export', 'tune.take.json', '--as', 'tab', '--tuning', 'pipe.json']],
    [['arrange', 'tune.take.json', '--weights', 'pipe.json']],
    [['harp', 'C', '--tuning', 'pipe.json']],
  ])('is reported and not waited for: %j', (argv) => {
    for (const name of ['pipe', 'pipe.json']) execFileSync('mkfifo', [join(dir, name)]);
    const done = reedtrace(argv);
    expect(done).toMatchObject({ code: 3, stdout: '' });
    expect(done.stderr).toMatch(/^error: 'pipe(\.json)?' is a device or a pipe, not a file; [^\n]+\n$/);
  });
});

describe('situations', () => {
  it.each([
    ['a recording', () => readFileSync(WAV)],
    ['a picture', () => Buffer.from('89504e470d0a1a0a0000000d49484452', 'hex')],
  ])('%s is no words', (_what, bytes) => {
    writeFileSync(join(dir, 'words'), bytes());
    const done = reedtrace(['export', 'tune.take.json', '--as', 'tab', '--words', 'words']);
    expect(done).toMatchObject({ code: 2, stdout: '' });
    expect(done.stderr).toMatch(/^error: 'words' is not a text file; [^\n]+\n$/);
    expect(readFileSync(join(dir, 'tune.take.json'), 'utf8')).toBe(TAKE);
  });

  it.skipIf(process.platform !== 'linux')('says if a name is not in UTF-8', () => {
    const name = Buffer.concat([Buffer.from(`${dir}/caf`), Buffer.from([0xe9]), Buffer.from('.wav')]);
    copyFileSync(WAV, name as unknown as string);
    const named = spawnSync('bash', ['-c', `"${process.execPath}" "${BIN}" transcribe caf*`], {
      cwd: dir,
      encoding: 'utf8',
    });
    const inFolder = reedtrace(['transcribe', '.']);
    for (const stderr of [named.stderr, inFolder.stderr]) {
      expect(stderr).toMatch(
        /^error: '[^\n]*' does not exist, or its name is not in UTF-8; rename it[^\n]*\n$/,
      );
    }
  });

  it('says if TMPDIR is missing', () => {
    const done = reedtrace(['transcribe', '-'], readFileSync(WAV), { TMPDIR: join(dir, 'none') });
    expect(done.code).toBe(5);
    expect(done.stderr).toMatch(
      /^error: standard input can't be stored in '[^\n]*none' \(ENOENT\); set TMPDIR [^\n]+\n$/,
    );
  });

  it('says what to do if installed without its scripts', () => {
    mkdirSync(join(dir, 'package'));
    cpSync(join(ROOT, 'bin'), join(dir, 'package/bin'), { recursive: true });
    copyFileSync(join(ROOT, 'package.json'), join(dir, 'package/package.json'));
    const done = spawnSync(process.execPath, [join(dir, 'package/bin/reedtrace.js')], { encoding: 'utf8' });
    expect({ code: done.status, stderr: done.stderr }).toEqual({
      code: 2,
      stderr: expect.stringMatching(/^error: reedtrace is not built yet; run `npm run build`[^\n]*\n$/),
    });
  });

  it('gives an error to one of two programs that write the same take at once', async () => {
    copyFileSync(WAV, join(dir, 'a.wav'));
    const run = () =>
      new Promise<number | null>((resolve) =>
        spawn(process.execPath, [BIN, 'transcribe', 'a.wav', '--harp', 'A', '--quiet'], {
          cwd: dir,
          stdio: 'ignore',
        }).on('exit', resolve),
      );
    expect((await Promise.all([run(), run(), run()])).sort()).toEqual([0, 5, 5]);
    expect(readdirSync(dir).sort()).toEqual(['a.take.json', 'a.wav', 'tune.take.json']);
  });
});

describe.skipIf(process.platform === 'win32')('Ctrl-C and other signals', () => {
  it.each(['SIGINT', 'SIGTERM', 'SIGHUP'] as const)('%s ends a wait for standard input', async (signal) => {
    for (const argv of [
      ['transcribe', '-'],
      ['export', '-', '--as', 'tab', '--out', '.'],
      ['arrange', '-', '--harp', 'C'],
    ]) {
      expect(await stoppedReading(argv, signal), argv.join(' ')).toEqual({
        code: 130,
        stderr: 'error: stopped by Ctrl-C; nothing was left half-written\n',
      });
    }
    expect(readdirSync(dir)).toEqual(['tune.take.json']);
  });
});
