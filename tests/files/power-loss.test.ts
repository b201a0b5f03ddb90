import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, realpathSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { formatTake } from '../../src/take/format.ts';
import { AMAZING_GRACE, playTune } from '../export/tunes.ts';

// The built program, as `npm test` makes it.
const BIN = fileURLToPath(new URL('../../bin/reedtrace.js', import.meta.url));
const hasStrace = spawnSync('strace', ['-o', '/dev/null', 'true']).status === 0;

let dir: string;
beforeEach(() => {
  dir = realpathSync(mkdtempSync(join(tmpdir(), 'reedtrace-power-')));
  writeFileSync(join(dir, 'tune.take.json'), formatTake(playTune('amazing-grace').take));
  writeFileSync(join(dir, 'words.txt'), AMAZING_GRACE);
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

/** What was asked of the system that power may not cut in another order: fsync and names, by path, in order. */
function asked(argv: readonly string[]): string[] {
  const log = join(dir, 'log');
  const calls = 'trace=fsync,fdatasync,rename,renameat,renameat2,link,linkat';
  const done = spawnSync(
    'strace',
    ['-f', '-y', '-qq', '-s', '200', '-e', calls, '-o', log, process.execPath, BIN, ...argv],
    {
      cwd: dir,
      encoding: 'utf8',
    },
  );
  expect(done.status, done.stderr).toBe(0);
  return readFileSync(log, 'utf8')
    .split('\n')
    .filter((line) => line.includes(dir) && !line.includes('.lock'))
    .map((line) =>
      line
        .replace(/^\d+ +/, '')
        .replaceAll(`${dir}/`, '')
        .replaceAll(dir, '.')
        .replaceAll(/\.reedtrace-[\w-]+\.tmp/g, 'TEMPORARY'),
    );
}

describe.skipIf(!hasStrace)('the order of writing, so that a power failure is harmless (strace)', () => {
  it('a file is renamed only after it was flushed, and then its folder is flushed', () => {
    const lines = asked(['export', 'tune.take.json', '--as', 'tab', '--out', dir]);
    expect(lines[0]).toMatch(/^f(?:data)?sync\(\d+<TEMPORARY>/);
    expect(lines[1]).toMatch(/^link.*TEMPORARY.*tune\.txt/);
    expect(lines[2]).toMatch(/^fsync\(\d+<\.>/);
    expect(lines).toHaveLength(3);
  });

  it('several files are all flushed before the first is renamed', () => {
    const lines = asked([
      'export',
      join(dir, 'tune.take.json'),
      '--as',
      'tab,csv',
      '--words',
      'words.txt',
      '--force',
    ]);
    const kinds = lines.map((line) =>
      /^f(?:data)?sync\(\d+<TEMP/.test(line) ? 'file' : /^fsync/.test(line) ? 'folder' : 'name',
    );
    expect(kinds.slice(0, 3)).toEqual(['file', 'file', 'file']);
    expect(kinds.slice(3, -1).every((kind) => kind === 'name')).toBe(true);
    expect(kinds.at(-1)).toBe('folder');
  });
});
