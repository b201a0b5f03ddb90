import { spawnSync } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { run } from '../../src/cli/run.ts';
import { soundTab } from '../../src/sound/tab-sound.ts';
import { encodeWav } from '../../src/sound/write-wav.ts';
import { type EditedTake, edit, openEdits } from '../../src/take/edits/edits.ts';
import { hashTake, journalPath } from '../../src/take/files/journal.ts';
import { lockTake } from '../../src/take/files/lock.ts';
import { loadJournal, readJournal } from '../../src/take/files/recovery.ts';
import { formatTake } from '../../src/take/format.ts';
import { parseTake } from '../../src/take/parse.ts';
import type { Take } from '../../src/take/schema.ts';
import { Keeping } from '../../src/ui/effects/keeping.ts';
import { captureIo } from '../cli/captured-io.ts';
import { AMAZING_GRACE, playTune } from '../export/tunes.ts';
import { canMount, mountSmallDisk, type SmallDisk } from '../full-disk.ts';

/** What was there before: text that begins like tab, since no export replaces other text. */
const AS_IT_WAS = '# as it was\n# C harp, Richter tuning\n';

const { take: TAKE } = playTune('amazing-grace');
const TEXT = formatTake(TAKE);
const RATE = 8000;
const RECORDING = encodeWav(
  soundTab(
    TAKE.notes.slice(0, 12).map(({ onsetSec, offsetSec, f0Hz }) => ({ onsetSec, offsetSec, f0Hz })),
    0,
    TAKE.notes[12].onsetSec,
    RATE,
  ),
  RATE,
  16,
);
const MIB = 1024 * 1024;
const PAGE_BYTES = 4096;
const EXTENSIONS = ['txt', 'musicxml', 'mid', 'abc', 'csv', 'json', 'svg', 'html', 'bends.svg'];

/** What each command writes over: a file that is there, whole, beforehand. */
const WRITERS: readonly (readonly [what: string, argv: readonly string[], files: readonly string[]])[] = [
  [
    'a take',
    ['transcribe', 'DIR/t.wav', '--harp', 'C', '--out', 'DIR/new.take.json', '--force'],
    ['new.take.json'],
  ],
  [
    'each format',
    ['export', 'DIR/tune.take.json', '--as', 'tab,musicxml,midi,abc,csv,json,svg,html,bends', '--force'],
    EXTENSIONS.map((extension) => `tune.${extension}`),
  ],
  [
    'words into a take',
    ['export', 'DIR/tune.take.json', '--as', 'tab', '--words', 'DIR/words.txt', '--force'],
    ['tune.txt', 'tune.take.json'],
  ],
  [
    'a page with its sound',
    ['export', 'DIR/tune.take.json', '--as', 'html', '--recording', 'DIR/t.wav', '--force'],
    ['tune.html'],
  ],
  [
    'what is to be practised to',
    ['play', 'DIR/tune.take.json', '--sound', 'tab', '--phrase', '1', '--out', 'DIR/slow.wav', '--force'],
    ['slow.wav'],
  ],
  ['a lesson', ['lesson', 'DIR/tune.take.json', '--out', 'DIR', '--force'], ['lesson.html', 'lesson.pdf']],
  [
    'an easier way of playing',
    ['arrange', 'DIR/tune.take.json', '--take', '1', '--out', 'DIR/easy.take.json', '--force'],
    ['easy.take.json'],
  ],
  ['a page of bends', ['bends', 'DIR/tune.take.json', '--html', 'DIR/bends.html', '--force'], ['bends.html']],
  [
    'pages of weeks',
    ['check', 'DIR/tune.take.json', 'DIR/later.take.json', '--against', 'DIR/tune.take.json', '--out', 'DIR'],
    ['weeks.html', 'weeks.csv', 'weeks.json'],
  ],
];

/** All files of a folder but the filler, with what is in them. */
const contents = (folder: string) =>
  new Map(
    readdirSync(folder)
      .filter((name) => name !== '.filler')
      .map((name) => [name, readFileSync(join(folder, name), 'latin1')] as const),
  );

function prepare(folder: string, files: readonly string[]): void {
  writeFileSync(join(folder, 'tune.take.json'), TEXT);
  writeFileSync(join(folder, 'later.take.json'), TEXT);
  writeFileSync(join(folder, 't.wav'), RECORDING);
  writeFileSync(join(folder, 'words.txt'), AMAZING_GRACE);
  for (const name of files) if (name !== 'tune.take.json') writeFileSync(join(folder, name), AS_IT_WAS);
}

describe.skipIf(!canMount())('on a full disk (tmpfs)', () => {
  let disk: SmallDisk;
  beforeEach(() => {
    disk = mountSmallDisk(4 * MIB);
  });
  afterEach(() => disk.remove());

  it.each(WRITERS)(
    '%s is written whole or stays as it was, however much space is free',
    { timeout: 300_000 },
    async (_what, argv, files) => {
      const { folder } = disk;
      const command = [...argv.map((arg) => arg.replace('DIR', folder)), '--quiet'];
      prepare(folder, files);
      const before = contents(folder);
      disk.leave(2 * MIB);
      const { io: first } = captureIo();
      expect(await run(command, first)).toBe(0);
      const whole = contents(folder);
      for (const name of files) expect(whole.get(name), name).not.toBe(before.get(name));
      // Where it breaks off: at once, within the first and the last file, and a page before the end.
      const pages = files.map((name) => Math.ceil((whole.get(name)?.length ?? 0) / PAGE_BYTES));
      const ends = pages.map((_, n) => pages.slice(0, n + 1).reduce((sum, count) => sum + count, 0));
      const middles = ends.map((end, n) => end - Math.ceil(pages[n] / 2));
      for (const free of new Set([0, middles[0], ...middles.slice(-1), (ends.at(-1) ?? 0) - 1])) {
        for (const name of readdirSync(folder)) rmSync(join(folder, name));
        prepare(folder, files);
        disk.leave(free * PAGE_BYTES);
        const { io, texts } = captureIo({ reportDir: tmpdir() });
        const code = await run(command, io);
        const after = contents(folder);
        expect({ code, stderr: texts.stderr }, `${free} pages free`).toEqual({
          code: 5,
          stderr: expect.stringMatching(/^error: '[^\n]*' could not be written[^\n]*ENOSPC[^\n]*\n$/),
        });
        expect(texts.stdout, 'no file is named as written').not.toContain(folder);
        expect([...after.keys()].sort()).toEqual([...before.keys()].sort());
        for (const [name, text] of before)
          expect(after.get(name) === text, `${name}, ${free} pages free`).toBe(true);
      }
    },
  );

  it('a failed save keeps take and journal, and the next that succeeds is complete', async () => {
    const path = join(disk.folder, 'tune.take.json');
    writeFileSync(path, TEXT);
    const keeping = new Keeping({ path, text: TEXT, lock: lockTake(path) }, () => {});
    const changed = accept(5);
    for (const line of changed.edits) keeping.append(line);
    await vi.waitFor(() => expect(readFileSync(journalPath(path), 'utf8').split('\n')).toHaveLength(7));
    const journal = readFileSync(journalPath(path), 'utf8');
    for (let freeBytes = 0; freeBytes < TEXT.length; freeBytes += 8192) {
      disk.leave(freeBytes);
      await expect(keeping.save(() => changed.state.take)).rejects.toThrow('the disk is full (ENOSPC)');
      expect(readFileSync(path, 'utf8')).toBe(TEXT);
      expect(readFileSync(journalPath(path), 'utf8')).toBe(journal);
    }
    disk.leave(MIB);
    await keeping.save(() => changed.state.take);
    expect(parseTake(readFileSync(path, 'utf8'), path)).toEqual(changed.state.take);
    expect(existsSync(journalPath(path))).toBe(false);
    await keeping.close();
    expect([...contents(disk.folder).keys()]).toEqual(['tune.take.json']);
  });

  it('a journal keeps what it has, and gets the rest when there is space', async () => {
    const path = join(disk.folder, 'tune.take.json');
    writeFileSync(path, TEXT);
    const { edits } = accept(30);
    const kinds: string[] = [];
    const keeping = new Keeping({ path, text: TEXT, lock: lockTake(path) }, ({ kind }) => kinds.push(kind));
    keeping.append(edits[0]);
    await vi.waitFor(async () => expect(await recovered(path)).toHaveLength(1));
    disk.leave(0);
    for (const line of edits.slice(1)) keeping.append(line);
    await vi.waitFor(() => expect(kinds).toContain('failed'));
    const kept = await recovered(path);
    expect(kept.length).toBeGreaterThan(0);
    expect(kept).toEqual(edits.slice(0, kept.length));
    disk.leave(MIB);
    await vi.waitFor(() => expect(kinds.at(-1)).toBe('safe'), { timeout: 5000 });
    expect(await recovered(path)).toEqual(edits);
    await keeping.close();
  });

  it.each(WRITERS)(
    '%s is refused when the disk is read-only',
    { timeout: 120_000 },
    async (_what, argv, files) => {
      prepare(disk.folder, files);
      const before = contents(disk.folder);
      disk.makeReadOnly();
      const { io, texts } = captureIo();
      const code = await run(
        argv.map((arg) => arg.replace('DIR', disk.folder)),
        io,
      );
      expect({ code, stderr: texts.stderr }).toEqual({
        code: 5,
        stderr: expect.stringMatching(/error: '[^\n]*' could not be written[^\n]*EROFS[^\n]*\n$/),
      });
      expect(contents(disk.folder)).toEqual(before);
    },
  );

  it('a lock without space leaves no file', () => {
    const path = join(disk.folder, 'tune.take.json');
    writeFileSync(path, TEXT);
    disk.leave(0);
    expect(() => lockTake(path)).toThrow(expect.objectContaining({ code: 'E_CANNOT_WRITE' }));
    expect([...contents(disk.folder).keys()]).toEqual(['tune.take.json']);
  });
});

const BIN = fileURLToPath(new URL('../../bin/reedtrace.js', import.meta.url));

/** One of each kind: those that are not here write by the same as one that is, which the small disk shows of them all. */
const KINDS = ['a take', 'each format', 'what is to be practised to', 'pages of weeks'];

/** Where files may not grow beyond a size, each write takes what fits, too, and the next one fails: on any disk. */
describe.skipIf(process.platform === 'win32')(
  'with files limited in size (ulimit), on the usual disk',
  () => {
    let folder: string;
    beforeAll(() => {
      folder = mkdtempSync(join(tmpdir(), 'reedtrace-limited-'));
    });
    afterAll(() => rmSync(folder, { recursive: true, force: true }));

    it.each(WRITERS.filter(([what]) => KINDS.includes(what)))(
      '%s stays as it was',
      { timeout: 120_000 },
      (what, argv, files) => {
        const dir = join(folder, basename(what));
        mkdirSync(dir);
        prepare(dir, files);
        const before = contents(dir);
        const command = argv.map((arg) => arg.replace('DIR', dir));
        // Kilobytes in bash; smaller than each of the files but the shortest.
        const done = spawnSync(
          'bash',
          ['-c', 'ulimit -f 4 && exec "$@"', 'bash', process.execPath, BIN, ...command],
          { encoding: 'utf8' },
        );
        expect(done.status, done.stderr).toBe(5);
        expect(done.stderr).toMatch(
          /could not be written: the disk can't hold a file of that size \(EFBIG\)/,
        );
        expect(contents(dir)).toEqual(before);
      },
    );
  },
);

function accept(count: number): { state: EditedTake; edits: ReturnType<typeof lineOf>[] } {
  let state = openEdits(TAKE);
  const edits: ReturnType<typeof lineOf>[] = [];
  for (const { id } of TAKE.notes.slice(0, count)) {
    const done = edit(state, { kind: 'accept', ids: [id] }, { at: '2026-11-25T12:00:00.000Z' });
    if (done === null) throw new Error('not accepted');
    state = done.state;
    edits.push(lineOf(done));
  }
  return { state, edits };
}

const lineOf = (done: NonNullable<ReturnType<typeof edit>>) => done.edit;

async function recovered(path: string) {
  const take: Take = parseTake(readFileSync(path, 'utf8'), path);
  const found = readJournal(await loadJournal(path), take, hashTake(TEXT));
  return found.kind === 'edits' ? found.edits : [];
}
