import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { run } from '../../src/cli/run.ts';
import { formatTake } from '../../src/take/format.ts';
import { captureIo } from '../cli/captured-io.ts';
import { AMAZING_GRACE, playTune } from '../export/tunes.ts';

/** What was there before: text that begins like tab, since no export replaces other text. */
const AS_IT_WAS = '# as it was\n# C harp, Richter tuning\n';

let dir: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-quota-'));
});
afterEach(() => {
  vi.restoreAllMocks();
  rmSync(dir, { recursive: true, force: true });
});

/**
 * From now on only this many bytes can be written: the write that would exceed them is cut to what fits, and the next
 * one fails, as write(2) describes for EDQUOT. Injected, since real quotas need a special file system.
 */
async function limitTo(bytes: number): Promise<void> {
  const handle = await open(join(dir, 'tune.take.json'), 'r');
  const prototype = Object.getPrototypeOf(handle) as { write(...args: unknown[]): Promise<unknown> };
  await handle.close();
  const { write } = prototype;
  let left = bytes;
  vi.spyOn(prototype, 'write').mockImplementation(function (this: unknown, ...args: unknown[]) {
    const [data, offset, length, position] = args as [Uint8Array, number, number, number];
    if (left === 0) throw Object.assign(new Error('EDQUOT: quota exceeded, write'), { code: 'EDQUOT' });
    const fits = Math.min(left, length);
    left -= fits;
    return write.call(this, data, offset, fits, position);
  });
}

const contents = () =>
  new Map(readdirSync(dir).map((name) => [name, readFileSync(join(dir, name), 'latin1')] as const));

const TAKE = formatTake(playTune('amazing-grace').take);
const FORMATS = ['txt', 'musicxml', 'mid', 'abc', 'csv', 'json', 'html'];

it.each([
  ['formats', ['export', 'TAKE', '--as', 'tab,musicxml,midi,abc,csv,json,html', '--force']],
  ['words', ['export', 'TAKE', '--as', 'tab', '--words', 'WORDS', '--force']],
  ['sound', ['play', 'TAKE', '--sound', 'tab', '--phrase', '1', '--out', 'DIR/tune.wav', '--force']],
  ['an arranged take', ['arrange', 'TAKE', '--take', '1', '--out', 'DIR/tune.easy', '--force']],
  ['weeks', ['check', 'TAKE', 'SECOND', '--against', 'TAKE', '--out', 'DIR']],
] as const)('%s stay as they were when the quota is used up', async (_what, argv) => {
  writeFileSync(join(dir, 'tune.take.json'), TAKE);
  writeFileSync(join(dir, 'second.take.json'), TAKE);
  writeFileSync(join(dir, 'words.txt'), AMAZING_GRACE);
  for (const extension of [...FORMATS, 'wav', 'easy'])
    writeFileSync(join(dir, `tune.${extension}`), AS_IT_WAS);
  const names = { TAKE: 'tune.take.json', SECOND: 'second.take.json', WORDS: 'words.txt' };
  const command = argv.map((arg) => {
    const name = names[arg as keyof typeof names];
    return name === undefined ? arg.replace('DIR', dir) : join(dir, name);
  });
  const before = contents();
  // Inside the first file, and, where there are several, inside a later one.
  for (const bytes of [0, 1, 700, 4000]) {
    await limitTo(bytes);
    const { io, texts } = captureIo();
    const code = await run([...command, '--quiet'].slice(0, argv[0] === 'check' ? -1 : undefined), io);
    vi.restoreAllMocks();
    if (code === 0) continue;
    expect({ code, stderr: texts.stderr }).toEqual({
      code: 5,
      stderr: expect.stringMatching(
        /^error: '[^\n]*' could not be written: your share of the disk is full \(EDQUOT\)/m,
      ),
    });
    expect(contents()).toEqual(before);
  }
  await limitTo(0);
  const { io } = captureIo();
  expect(await run(command, io)).toBe(5);
});
