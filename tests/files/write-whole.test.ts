import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { hasTemporaries, removeTemporaries, temporaryIn } from '../../src/files/temporary.ts';
import { writeWhole } from '../../src/files/write-whole.ts';

let dir: string;
const at = (name: string) => join(dir, name);
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-whole-'));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

const file = (name: string, content: string, replace = true) => ({
  path: at(name),
  content,
  replace,
  existsFix: 'give another name',
});
const names = () => readdirSync(dir).sort();

describe('writing whole', () => {
  it("writes all files, or none if one can't be written", async () => {
    writeFileSync(at('a'), 'old');
    const all = [file('a', 'new'), file('b', 'new'), file('none/c', 'new')];
    await expect(writeWhole(all)).rejects.toMatchObject({ code: 'E_CANNOT_WRITE' });
    expect([names(), readFileSync(at('a'), 'utf8')]).toEqual([['a'], 'old']);
    await writeWhole(all.slice(0, 2));
    expect(names().map((name) => readFileSync(at(name), 'utf8'))).toEqual(['new', 'new']);
    expect(hasTemporaries()).toBe(false);
  });

  it('removes files that are already renamed if a later one fails', async () => {
    writeFileSync(at('a'), 'old');
    writeFileSync(at('c'), 'theirs');
    await expect(
      writeWhole([file('a', 'new'), file('b', 'new'), file('c', 'mine', false)]),
    ).rejects.toMatchObject({
      code: 'E_EXISTS',
      fix: 'give another name',
    });
    expect(names()).toEqual(['a', 'c']);
    expect([readFileSync(at('a'), 'utf8'), readFileSync(at('c'), 'utf8')]).toEqual(['old', 'theirs']);
  });

  it('lets only one of many writers create a new file', async () => {
    for (let turn = 0; turn < 20; turn++) {
      const tries = Array.from({ length: 8 }, (_, i) => writeWhole([file(`new${turn}`, `${i}`, false)]));
      const won = (await Promise.allSettled(tries)).flatMap(({ status }, i) =>
        status === 'fulfilled' ? [i] : [],
      );
      expect(won).toHaveLength(1);
      expect(readFileSync(at(`new${turn}`), 'utf8')).toBe(`${won[0]}`);
    }
  });

  it.skipIf(process.platform === 'win32')(
    'keeps the permissions of a file, and follows a link to it',
    async () => {
      writeFileSync(at('real'), 'old');
      chmodSync(at('real'), 0o600);
      symlinkSync(at('real'), at('link'));
      await writeWhole([file('link', 'new')]);
      expect([readFileSync(at('real'), 'utf8'), statSync(at('real')).mode & 0o777]).toEqual(['new', 0o600]);
      expect(names()).toEqual(['link', 'real']);
    },
  );
});

describe('temporary files', () => {
  it('left by ended programs are removed at the next write; others stay', async () => {
    const mine = basename(temporaryIn(dir));
    const dead = spawnSync(process.execPath, ['-e', '']).pid;
    const left = mine.replace(`-${process.pid}-`, `-${dead}-`);
    const alive = mine.replace(`-${process.pid}-`, `-${process.ppid}-`);
    const elsewhere = mine.replace(/-[0-9a-f]{8}-/, '-00000000-');
    const old = elsewhere.replace(/[0-9a-f]{12}/, '0'.repeat(12));
    const others = ['.reedtrace-notes.tmp', 'a.tmp'];
    for (const name of [left, alive, elsewhere, old, ...others]) writeFileSync(at(name), '');
    utimesSync(at(old), 1, 1);
    await writeWhole([file('a', 'new')]);
    expect(names()).toEqual([...others, alive, elsewhere, 'a'].sort());
  });

  it('of this program are removed when it ends', () => {
    const path = temporaryIn(dir);
    writeFileSync(path, 'half');
    expect(hasTemporaries()).toBe(true);
    removeTemporaries();
    expect([names(), hasTemporaries()]).toEqual([[], false]);
  });
});
