import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

// The built program, as `npm test` makes it.
const BIN = fileURLToPath(new URL('../../bin/reedtrace.js', import.meta.url));
let dir: string;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-built-'));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

function spawn(command: string, args: readonly string[], input?: string) {
  const held = spawnSync(command, args, {
    cwd: dir,
    encoding: 'utf8',
    input,
    env: { ...process.env, TMPDIR: dir },
  });
  return { code: held.status, stdout: held.stdout, stderr: held.stderr };
}
const reedtrace = (args: readonly string[], input?: string) => spawn(process.execPath, [BIN, ...args], input);

describe('the built program', () => {
  it('prints help on standard output', () => {
    const held = reedtrace(['--help']);
    expect(held).toMatchObject({ code: 0, stderr: '' });
    expect(held.stdout).toMatch(/^Usage: reedtrace /);
  });

  it('says in one line that a file is missing', () => {
    const held = reedtrace(['transcribe', 'missing.wav']);
    expect(held).toMatchObject({ code: 3, stdout: '' });
    expect(held.stderr).toMatch(/^error: [^\n]*missing\.wav[^\n]*; [^\n]+\n$/);
  });

  it('transcribes several recordings on threads with the same results as one by one', () => {
    const sample = (name: string) => fileURLToPath(new URL(`../../samples/${name}.wav`, import.meta.url));
    const [one, other] = [sample('old-joe-clark'), sample('homework-kitchen')];
    const held = reedtrace(['transcribe', one, other, 'missing.wav', '--no-save', '--quiet']);
    const alone = [one, other].map((path) => reedtrace(['transcribe', path, '--no-save', '--quiet']).stdout);
    expect(held.code).toBe(3);
    expect(held.stdout).toBe(alone.join('\n'));
    expect(held.stderr).toMatch(/^error: 'missing.wav' does not exist; [^\n]+\n$/);
  });

  it('refuses piped text in one line and leaves nothing behind', () => {
    const held = reedtrace(['transcribe', '-'], 'these are words, not sound\n'.repeat(100));
    expect(held).toMatchObject({ code: 3, stdout: '' });
    expect(held.stderr).toMatch(/^error: [^\n]+\n$/);
    expect(readdirSync(dir)).toEqual([]);
  });

  it.skipIf(process.platform === 'win32')('ends quietly if its reader has closed the pipe', () => {
    // `true` ends long before Node has started to write.
    const script = '"$0" "$1" --help | true; exit $PIPESTATUS';
    expect(spawn('bash', ['-c', script, process.execPath, BIN])).toEqual({ code: 0, stdout: '', stderr: '' });
  });

  it.skipIf(process.platform !== 'linux')('says in one line that its output could not be written', () => {
    const held = spawn('bash', ['-c', '"$0" "$1" --help > /dev/full', process.execPath, BIN]);
    expect(held).toEqual({
      code: 5,
      stdout: '',
      stderr: 'error: standard output could not be written (ENOSPC); free some space or print elsewhere\n',
    });
  });
});
