import { spawnSync } from 'node:child_process';
import { copyFileSync, cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../src/cli/run.ts';
import { captureIo } from './cli/captured-io.ts';

const at = (path: string) => fileURLToPath(new URL(`../${path}`, import.meta.url));
const SAMPLE = at('samples/bending-exercise.wav');

const TEXT = ['README.md', 'src/cli/README.md'].map((file) => readFileSync(at(file), 'utf8')).join('\n');

/**
 * Each `reedtrace …` of the README and of the chapter on the commands, in blocks and in running text, but not its output.
 * `correct` needs a terminal: tests/ui drives one.
 */
const commands = [
  ...new Set([...TEXT.matchAll(/(?:^|`)(reedtrace (?!correct)[^`\n]+)/gm)].map(([, line]) => line)),
];

const HOME = process.cwd();
let dir: string;
beforeAll(async () => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-readme-'));
  copyFileSync(SAMPLE, join(dir, 'take.wav'));
  await run(['transcribe', join(dir, 'take.wav'), '--harp', 'C'], captureIo().io);
}, 60_000);
afterEach(() => process.chdir(HOME));
afterAll(() => rmSync(dir, { recursive: true, force: true }));

/** The words of a simple command line: quotes, no variables. */
const words = (line: string) =>
  [...line.matchAll(/"([^"]*)"|(\S+)/g)].map(([, quoted, bare]) => quoted ?? bare);

/** What a command does; in a process of its own only where a recording comes by standard input. */
async function held(argv: readonly string[]) {
  if (argv.includes('-')) {
    const done = spawnSync(process.execPath, [at('bin/reedtrace.js'), ...argv], {
      encoding: 'utf8',
      input: readFileSync(SAMPLE),
    });
    return { code: done.status, ...done };
  }
  const { io, texts } = captureIo();
  return { code: await run(argv, io), ...texts };
}

describe('the commands of the README', () => {
  it('are found', () => {
    expect(commands).toContain(
      'reedtrace check samples/homework-kitchen.wav --harp C --against samples/red-river-valley.txt',
    );
  });

  it.each(commands.map((command, index) => [command, index] as const))('%s', async (command, index) => {
    const cwd = join(dir, String(index));
    mkdirSync(join(cwd, 'lessons'), { recursive: true });
    for (const name of ['take.wav', 'lessons/one.wav']) copyFileSync(SAMPLE, join(cwd, name));
    for (const [sample] of command.matchAll(/samples\/[\w-]+\.\w+/g)) cpSync(at(sample), join(cwd, sample));
    // A command that reads a take finds one; `transcribe` would refuse to replace it.
    const [take] = command.startsWith('reedtrace transcribe') ? [] : (/\w+\.take\.json/.exec(command) ?? []);
    if (take !== undefined) copyFileSync(join(dir, 'take.take.json'), join(cwd, take));
    if (command.includes(' lesson '))
      copyFileSync(join(dir, 'take.take.json'), join(cwd, 'lessons/take.take.json'));
    process.chdir(cwd);
    const { code, stdout, stderr } = await held(words(command).slice(1));
    expect(stderr).not.toMatch(/^error/m);
    expect(code).toBe(0);
    expect(stdout).not.toBe('');
  });
});
