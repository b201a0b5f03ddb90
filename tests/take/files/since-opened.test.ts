import { mkdtempSync, readFileSync, rmSync, symlinkSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { edit, openEdits } from '../../../src/take/edits/edits.ts';
import { hashTake, journalPath } from '../../../src/take/files/journal.ts';
import { lockTake } from '../../../src/take/files/lock.ts';
import { checkUnchanged, lookSinceOpened } from '../../../src/take/files/since-opened.ts';
import { formatTake } from '../../../src/take/format.ts';
import { buildTake } from '../../../src/take/take.ts';
import { Keeping } from '../../../src/ui/effects/keeping.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../example.ts';

const TAKE = buildTake(EXAMPLE_SOURCE, exampleFindings(['4 -4 5 -5']));
const TEXT = formatTake(TAKE);
const HASH = hashTake(TEXT);
const OTHER = TEXT.replace('"key": "C"', '"key": "D"');

let dir: string;
let path: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-since-'));
  path = join(dir, 'a.take.json');
  writeFileSync(path, TEXT);
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

describe('a take since it was opened', () => {
  it('is the same if only its time changed, or it was written again unchanged', async () => {
    utimesSync(path, 1, 1);
    expect(await lookSinceOpened(path, HASH)).toEqual({ kind: 'same' });
    rmSync(path);
    writeFileSync(path, TEXT);
    expect(await lookSinceOpened(path, HASH)).toEqual({ kind: 'same' });
  });

  it('was changed if one letter differs, or a link replaced it', async () => {
    expect(OTHER).not.toBe(TEXT);
    writeFileSync(path, OTHER);
    expect(await lookSinceOpened(path, HASH)).toEqual({
      kind: 'changed',
      text: OTHER,
      hash: hashTake(OTHER),
    });
    rmSync(path);
    writeFileSync(join(dir, 'other'), OTHER);
    symlinkSync(join(dir, 'other'), path);
    expect(await lookSinceOpened(path, HASH)).toMatchObject({ kind: 'changed' });
    await expect(checkUnchanged(path, HASH)).rejects.toMatchObject({
      code: 'E_TAKE_CHANGED',
      message: "'a.take.json' was changed by another program since it was opened",
    });
  });

  it('is gone if its file or folder is', async () => {
    rmSync(dir, { recursive: true });
    expect(await lookSinceOpened(path, HASH)).toEqual({ kind: 'gone' });
    await checkUnchanged(path, HASH);
  });
});

describe('saving from the correction screen', () => {
  function open() {
    const keeping = new Keeping({ path, text: TEXT, lock: lockTake(path) }, () => {});
    const done = edit(openEdits(TAKE), { kind: 'accept', ids: ['n1'] }, { at: '2026-11-25T12:00:00.000Z' });
    if (done === null) throw new Error('not accepted');
    keeping.append(done.edit);
    return { keeping, take: done.state.take };
  }

  it('overwrites nothing that another program wrote, and keeps the journal', async () => {
    const { keeping, take } = open();
    writeFileSync(path, OTHER);
    await expect(keeping.save(() => take)).rejects.toMatchObject({ code: 'E_TAKE_CHANGED' });
    expect(readFileSync(path, 'utf8')).toBe(OTHER);
    expect(readFileSync(journalPath(path), 'utf8')).toContain('"accept"');
    await keeping.save(() => take, true);
    expect(readFileSync(path, 'utf8')).toBe(formatTake(take));
    // Its own writing is no change by another.
    await keeping.save(() => TAKE);
    expect(readFileSync(path, 'utf8')).toBe(TEXT);
    await keeping.close();
  });

  it('brings back a deleted take', async () => {
    const { keeping, take } = open();
    rmSync(path);
    await keeping.save(() => take);
    expect(readFileSync(path, 'utf8')).toBe(formatTake(take));
    await keeping.close();
  });
});
