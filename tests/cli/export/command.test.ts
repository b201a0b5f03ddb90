import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { Note } from 'tonal';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { run } from '../../../src/cli/run.ts';
import { layoutById } from '../../../src/harp/layouts.ts';
import { formatTabNote } from '../../../src/tab/text.ts';
import { edit, openEdits, undo } from '../../../src/take/edits/edits.ts';
import { hashTake, Journal, journalPath } from '../../../src/take/files/journal.ts';
import { lockTake } from '../../../src/take/files/lock.ts';
import { formatTake } from '../../../src/take/format.ts';
import { parseTake } from '../../../src/take/parse.ts';
import { AMAZING_GRACE, playTune } from '../../export/tunes.ts';
import { captureIo } from '../captured-io.ts';

const TAKE = formatTake(playTune('amazing-grace').take);

let folder: string;
let take: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'reedtrace-export-'));
  take = join(folder, 'amazing-grace.take.json');
  await writeFile(take, TAKE);
});
afterEach(() => rm(folder, { recursive: true, force: true }));

async function exporting(...argv: string[]) {
  const { io, texts } = captureIo();
  return { code: await run(['export', ...argv], io), ...texts };
}

const inFolder = (name: string) => join(folder, name);

describe('export', () => {
  it('writes each format next to the take and names the files', async () => {
    const formats = 'tab,musicxml,midi,abc,csv,json,svg,bends';
    const done = await exporting(take, '--as', formats);
    const names = ['.txt', '.musicxml', '.mid', '.abc', '.csv', '.json', '.svg', '.bends.svg'].map(
      (extension) => `amazing-grace${extension}`,
    );
    expect(done).toEqual({
      code: 0,
      stdout: names.map((name) => `${inFolder(name)}\n`).join(''),
      stderr:
        "remark: amazing-grace: the title is 'amazing grace', from the name of the file; `--title` gives another\n",
    });
    expect((await readdir(folder)).sort()).toEqual([...names, 'amazing-grace.take.json'].sort());
    expect(await readFile(take, 'utf8')).toBe(TAKE);
  });

  it('without --force overwrites no file, and then writes nothing at all', async () => {
    await writeFile(inFolder('amazing-grace.abc'), 'mine');
    const refused = await exporting(take, '--as', 'tab,abc');
    expect(refused.code).toBe(5);
    expect(refused.stderr).toBe(
      `error: '${inFolder('amazing-grace.abc')}' already exists; add \`--force\` to replace it, or \`--out\` to write elsewhere\n`,
    );
    expect(await readdir(folder)).not.toContain('amazing-grace.txt');
    expect(await readFile(inFolder('amazing-grace.abc'), 'utf8')).toBe('mine');
    expect((await exporting(take, '--as', 'tab,abc', '--force')).code).toBe(0);
    expect(await readFile(inFolder('amazing-grace.abc'), 'utf8')).toContain('X:1');
  });

  it('says where words without a note are', async () => {
    const words = inFolder('verses.txt');
    await writeFile(words, 'la '.repeat(34));
    const left = 'remark: amazing-grace: 2 syllables have no note; ';
    const kept = await exporting(take, '--as', 'tab,abc,midi,musicxml', '--words', words, '--no-save');
    expect(kept.stderr).toContain(`${left}they stand after the tab\n`);
    const other = await exporting(take, '--as', 'csv,svg', '--words', words, '--no-save');
    expect(other.stderr).toContain(`${left}not in csv, but after the tab in tab, abc and html\n`);
    expect(other.code).toBe(0);
  });

  it('never overwrites the words or another take that it reads, even with --force', async () => {
    const words = inFolder('amazing-grace.txt');
    await writeFile(words, 'Amazing grace');
    const refused = await exporting(take, '--words', words, '--force');
    expect(refused.code).toBe(5);
    expect(refused.stderr).toContain(
      `'${words}' is the file of words, which this command reads; write elsewhere with \`--out\``,
    );
    expect(await readFile(words, 'utf8')).toBe('Amazing grace');
    const other = inFolder('amazing-grace.json');
    await writeFile(other, TAKE);
    expect((await exporting(take, other, '--as', 'json', '--force')).stderr).toContain(
      'is one of the takes, which',
    );
  });

  it('never replaces words next to the take with its tab, even with --force, but replaces older tab', async () => {
    const words = inFolder('amazing-grace.txt');
    await writeFile(words, 'Amazing grace, how sweet the sound\n');
    for (const more of [[], ['--force']]) {
      const refused = await exporting(take, '--as', 'abc,tab', ...more);
      expect(refused.code).toBe(5);
      expect(refused.stderr).toContain(
        `'${words}' was not written by an export and may hold your words, so it is not overwritten; rename that file, or`,
      );
    }
    expect(await readFile(words, 'utf8')).toBe('Amazing grace, how sweet the sound\n');
    expect(await readdir(folder)).not.toContain('amazing-grace.abc');
    await rm(words);
    expect((await exporting(take, '--as', 'tab')).code).toBe(0);
    expect((await exporting(take, '--as', 'tab', '--force', '--title', 'Grace')).code).toBe(0);
    expect(await readFile(words, 'utf8')).toContain('# Grace\n');
  });

  it('never overwrites the take itself, even with --force', async () => {
    const plain = inFolder('song.json');
    await writeFile(plain, TAKE);
    const refused = await exporting(plain, '--as', 'json', '--force');
    expect(refused.code).toBe(5);
    expect(refused.stderr).toContain('is the take itself');
    expect(await readFile(plain, 'utf8')).toBe(TAKE);
  });

  it('creates the folder of --out', async () => {
    const out = inFolder('for/lessons');
    expect((await exporting(take, '--out', out)).stdout).toBe(`${join(out, 'amazing-grace.txt')}\n`);
  });

  it('makes no folder by the name of a file', async () => {
    const { code, stderr } = await exporting(take, '--as', 'pdf', '--out', inFolder('song.pdf'));
    expect(code).toBe(2);
    expect(stderr).toContain('`--out` takes a folder');
    expect(await readdir(inFolder('.'))).not.toContain('song.pdf');
  });

  it('does not let two takes of the same name overwrite each other', async () => {
    await mkdir(inFolder('other'));
    const other = inFolder('other/amazing-grace.take.json');
    await writeFile(other, TAKE);
    const done = await exporting(take, other, '--out', inFolder('out'), '--force');
    expect(done.code).toBe(5);
    expect(done.stderr).toContain('would both be written as');
    expect(await readdir(inFolder('out'))).toEqual(['amazing-grace.txt']);
  });

  it('exports the others if one take fails', async () => {
    const bad = inFolder('bad.take.json');
    await writeFile(bad, '{}');
    const done = await exporting(bad, take);
    expect(done.code).toBe(3);
    expect(done.stdout).toBe(`${inFolder('amazing-grace.txt')}\n`);
  });

  it('reads a take from standard input when told where to write', async () => {
    const { io, texts } = captureIo();
    const piped = { ...io, stdin: Readable.from([Buffer.from(TAKE)]) };
    expect(await run(['export', '-', '--out', folder], piped)).toBe(0);
    expect(texts.stdout).toBe(`${inFolder('amazing-grace.txt')}\n`);
    expect((await exporting('-')).stderr).toContain('say where to write with `--out`');
  });
});

const KEPT = 'remark: amazing-grace: the words are kept in the take, for later commands too\n';
const ENGLISH = 'remark: words split as English (by its most common words; --lang names another)\n';

describe('options of export', () => {
  const tabOf = async (...argv: string[]) => {
    const done = await exporting(take, '--force', ...argv);
    expect(done.code).toBe(0);
    return { tab: await readFile(inFolder('amazing-grace.txt'), 'utf8'), stderr: done.stderr };
  };

  it('words go under the notes, split by the rules of their language', async () => {
    await writeFile(inFolder('words.txt'), AMAZING_GRACE);
    const { tab, stderr } = await tabOf('--words', inFolder('words.txt'));
    expect(stderr).toBe(ENGLISH + KEPT);
    expect(tab).toContain(
      "-1    | -2    -3   -2   | -3     -3'' | -2    2   | -1\nA-      ma-   zing _      grace, how",
    );
  });

  it('verses are split by the languages that their labels name, and page and MusicXML say which', async () => {
    const german =
      'O A-bendruhe, still und mild\ndu kommst auf lei-sem Fuß\nund alle Vögel singen wild\ndem Tage ihren Gruß';
    const [first] = AMAZING_GRACE.replaceAll('_', '').split('\n\n');
    await writeFile(inFolder('words.txt'), `Verse 1:\n${first}\n\nVerse 2 (de):\n${german}\n`);
    const done = await exporting(take, '--as', 'html,musicxml', '--words', inFolder('words.txt'));
    expect(done.stderr).toContain(
      'remark: words split verse by verse as English and German (a label such as `Verse 2 (en):` names the language of a verse, --lang that of all others)\n',
    );
    const { words } = parseTake(await readFile(take, 'utf8'), 'x');
    const second = words.filter(({ verse }) => verse === 2);
    expect(second.slice(-4).map(({ text }) => text)).toEqual(['ge', 'ih', 'ren', 'Gruß']);
    expect(new Set(second.map(({ lang }) => lang))).toEqual(new Set(['de']));
    expect(new Set(words.filter(({ verse }) => verse === 1).map(({ lang }) => lang))).toEqual(
      new Set(['en']),
    );
    const html = await readFile(inFolder('amazing-grace.html'), 'utf8');
    expect(html).toContain('<p lang="de"><b lang="en">Verse 2</b><br>O Abendruhe, still und mild<br>');
    expect(html).toMatch(/<p lang="en"><b lang="en">Verse 1<\/b>/);
    expect(html).toContain('<span class="word" lang="de">O</span>');
    expect(await readFile(inFolder('amazing-grace.musicxml'), 'utf8')).toContain(
      '<text xml:lang="de">Gruß</text>',
    );
  });

  it('a language without rules is refused, even in a label', async () => {
    await writeFile(inFolder('words.txt'), 'Verse 1 (xx):\nla la');
    const refused = await exporting(take, '--words', inFolder('words.txt'));
    expect(refused.code).toBe(2);
    expect(refused.stderr).toContain("'xx'");
  });

  it('a mismatch between words and notes is reported', async () => {
    await writeFile(inFolder('words.txt'), 'Alle Vögel sind schon da');
    const { tab, stderr } = await tabOf('--words', inFolder('words.txt'), '--lang', 'de');
    expect(stderr).toBe(`remark: amazing-grace: 25 notes have no words\n${KEPT}`);
    expect(tab).toContain('Al-');
  });

  it('words stay with the take, as a change that can be undone, and later exports have them', async () => {
    await writeFile(inFolder('words.txt'), AMAZING_GRACE);
    await tabOf('--words', inFolder('words.txt'), '--lang', 'none');
    const kept = parseTake(await readFile(take, 'utf8'), 'x');
    expect(kept.words.slice(0, 3).map(({ text }) => text)).toEqual(['A', 'ma', 'zing']);
    expect({ ...kept, words: [], edits: [] }).toEqual(parseTake(TAKE, 'x'));
    expect(undo(openEdits(kept), { at: '2026-01-01T00:00:00.000Z' })?.state.take.words).toEqual([]);
    const { tab, stderr } = await tabOf();
    expect(tab).toContain('A-      ma-   zing _');
    expect(stderr).toBe('');
    // The same words once more change nothing.
    expect((await tabOf('--words', inFolder('words.txt'), '--lang', 'none')).stderr).toBe('');
    expect(parseTake(await readFile(take, 'utf8'), 'x').edits).toHaveLength(1);
    expect((await readdir(folder)).sort()).toEqual(
      ['amazing-grace.take.json', 'amazing-grace.txt', 'words.txt'].sort(),
    );
  });

  it('tempo and metre stay with the take, each as a change that can be undone', async () => {
    const first = await tabOf('--metre', '2/4');
    expect(first.stderr).toContain(
      'remark: amazing-grace: tempo and bars as you said are kept in the take, for later commands too\n',
    );
    // What was said before still holds, and saying nothing changes nothing.
    const second = await tabOf('--bpm', '48');
    expect(second.tab).toMatch(/2\/4, 4[78] quarter notes/);
    const { edits, beats } = parseTake(await readFile(take, 'utf8'), 'x');
    expect(edits.map(({ what }) => what)).toEqual(['beats', 'beats']);
    expect(beats.given).toEqual({ metre: { count: 2, unit: 4 }, tempoBpm: 48 });
    const again = await tabOf();
    expect(again.tab).toBe(second.tab);
    expect(again.stderr).not.toContain('kept');
    // A metre ends free time, and free time a metre.
    expect((await tabOf('--free')).tab).toContain('free time');
    expect((await tabOf('--metre', '2/4')).tab).toBe(second.tab);
    let state = openEdits(parseTake(await readFile(take, 'utf8'), 'x'));
    for (let n = 0; n < 4; n++) state = undo(state, { at: '2026-01-01T00:00:00.000Z' })!.state;
    expect(undo(state, { at: '2026-01-01T00:00:00.000Z' })).toBeNull();
    expect({ ...state.take, edits: [] }).toEqual(parseTake(TAKE, 'x'));
  });

  it('a pick-up that is given is kept, and words can be removed again', async () => {
    await tabOf('--metre', '3/4', '--pickup', '1');
    await writeFile(inFolder('words.txt'), AMAZING_GRACE);
    await tabOf('--words', inFolder('words.txt'), '--lang', 'none');
    const worded = parseTake(await readFile(take, 'utf8'), 'x');
    expect(worded.beats.given).toEqual({ metre: { count: 3, unit: 4 }, pickupTicks: 12 });
    expect(worded.beats.notes?.[0].atTicks).toBe(24);
    expect(worded.words.length).toBeGreaterThan(0);
    expect((await tabOf('--no-words')).stderr).toContain('the words');
    const bare = parseTake(await readFile(take, 'utf8'), 'x');
    expect(bare.words).toEqual([]);
    expect(bare.beats).toEqual(worded.beats);
  });

  it('notes that are corrected later keep the tempo and metre that were given', async () => {
    await tabOf('--metre', '2/4');
    const deleted = edit(
      openEdits(parseTake(await readFile(take, 'utf8'), 'x')),
      { kind: 'delete', ids: ['n1'] },
      { at: '2026-01-01T00:00:00.000Z' },
    );
    const split = edit(
      deleted!.state,
      { kind: 'split', id: 'n2', atSec: 1.5 },
      { at: '2026-01-01T00:00:01.000Z' },
    );
    await writeFile(take, formatTake((split ?? deleted)!.state.take));
    expect((await tabOf()).tab).toContain('2/4');
  });

  it('with --no-save the take stays as it is', async () => {
    await writeFile(inFolder('words.txt'), AMAZING_GRACE);
    const { tab, stderr } = await tabOf('--words', inFolder('words.txt'), '--no-save');
    expect(tab).toContain('A-');
    expect(stderr).toBe(ENGLISH);
    expect(await readFile(take, 'utf8')).toBe(TAKE);
  });

  it('words are not written into a take that is open or has unsaved changes', async () => {
    await writeFile(inFolder('words.txt'), AMAZING_GRACE);
    const lock = lockTake(take);
    const refused = await exporting(take, '--words', inFolder('words.txt'));
    lock.release();
    expect(refused.code).toBe(5);
    expect(refused.stderr).toContain('or leave the take as it is with `--no-save`');
    const changed = edit(
      openEdits(parseTake(TAKE, 'x')),
      { kind: 'delete', ids: ['n1'] },
      { at: '2026-01-01T00:00:00.000Z' },
    );
    const journal = new Journal(journalPath(take), hashTake(TAKE), null, () => {});
    journal.append(changed!.edit);
    await journal.close();
    const waiting = await exporting(take, '--words', inFolder('words.txt'));
    expect(waiting.code).toBe(5);
    expect(waiting.stderr).toContain('unsaved changes are waiting in');
    expect(await readFile(take, 'utf8')).toBe(TAKE);
    expect(await readdir(folder)).not.toContain('amazing-grace.txt');
  });

  it('findings of check go on the page', async () => {
    await writeFile(inFolder('tune.txt'), '1 -2 -3 -2');
    const done = await exporting(take, '--as', 'html', '--no-audio', '--against', inFolder('tune.txt'));
    expect(done.code).toBe(0);
    const page = await readFile(inFolder('amazing-grace.html'), 'utf8');
    expect(page).toMatch(/Compared with tune\.txt: \d+ of 100/);
    expect(page).toMatch(/1\. wrong note/);
    expect(page).toMatch(/[a-z]\.<\/p>/);
    expect(page).not.toContain('?.');
    // The tune of the take and one note more: that is missed after the last one.
    const tune = parseTake(TAKE, 'x').notes.map((note) => formatTabNote(note));
    await writeFile(inFolder('longer.txt'), [...tune, '8'].join(' '));
    await exporting(take, '--as', 'html', '--no-audio', '--force', '--against', inFolder('longer.txt'));
    const longer = await readFile(inFolder('amazing-grace.html'), 'utf8');
    expect(longer).toMatch(/<\/li><li class="missed"><span class="fault">1\. missed<\/span><\/li><\/ol>/);
    const refused = await exporting(take, '--as', 'tab', '--against', inFolder('tune.txt'));
    expect(refused.code).toBe(2);
    expect(refused.stderr).toContain('`--against` is for pages');
  });

  it('a custom tuning is named by its file', async () => {
    const own = { ...parseTake(TAKE, 'x'), harp: { ...parseTake(TAKE, 'x').harp, tuning: 'custom' } };
    await writeFile(take, formatTake(own));
    await writeFile(inFolder('tune.txt'), '1 -2 -3 -2');
    const richter = layoutById('richter');
    const names = (row: readonly number[]) => row.map((semitones) => Note.fromMidi(60 + semitones));
    await writeFile(
      inFolder('mine.json'),
      JSON.stringify({ blow: names(richter.blow), draw: names(richter.draw) }),
    );
    const page = ['--as', 'html', '--no-audio', '--force', '--against', inFolder('tune.txt')];
    const refused = await exporting(take, ...page);
    expect(refused.code).toBe(2);
    expect(refused.stderr).toContain('name its JSON file with `--tuning`');
    expect((await exporting(take, ...page, '--tuning', inFolder('mine.json'))).code).toBe(0);
    expect(await readFile(inFolder('amazing-grace.html'), 'utf8')).toContain('class="row"');
    expect((await exporting(take, '--tuning', 'country')).stderr).toContain("'country' can't change it");
  });

  it('words are kept in the JSON', async () => {
    await writeFile(inFolder('words.txt'), AMAZING_GRACE);
    await exporting(take, '--as', 'json', '--words', inFolder('words.txt'), '--lang', 'none');
    const written = parseTake(await readFile(inFolder('amazing-grace.json'), 'utf8'), 'x');
    expect(written.words.slice(0, 2).map(({ text }) => text)).toEqual(['A', 'ma']);
  });

  it('tempo, metre and free time can be given', async () => {
    expect((await tabOf('--no-save', '--bpm', '48')).tab).toContain('48 quarter notes a minute');
    expect((await tabOf('--no-save', '--metre', '2/4')).tab).toContain('2/4, 96');
    expect((await tabOf('--no-save', '--free')).tab).toContain('free time');
    expect(await readFile(take, 'utf8')).toBe(TAKE);
    expect((await tabOf('--lengths')).tab).toContain('-2:2');
    expect((await tabOf('--tab-style', 'letters', '--title', 'Mine')).tab).toMatch(
      /^# Mine\n[\s\S]*\n1D \| 2D 3D 2D/,
    );
  });

  it.each([
    [['--as', 'docx'], "'docx' is not a format that can be written"],
    [['--metre', '13/7'], "'13/7' is not a metre"],
    [['--bpm', '1'], '36 to 250'],
    [['--pickup', '9'], '0 to 8'],
    [['--pickup', '0.3'], '0.5 for an eighth'],
    [['--free', '--metre', '3/4'], 'cannot be used with'],
    [['--words', 'x', '--lang', 'xx'], "'x' does not exist"],
  ])('%j is refused', async (argv, message) => {
    const done = await exporting(take, ...argv);
    expect([2, 3]).toContain(done.code);
    expect(done.stderr).toContain(message);
    expect(done.stderr.trim().split('\n')).toHaveLength(1);
    expect(await readdir(folder)).toEqual(['amazing-grace.take.json']);
  });

  it('bar lines that are a guess are remarked on', async () => {
    const parsed = parseTake(TAKE, 'x');
    await writeFile(take, JSON.stringify({ ...parsed, beats: { ...parsed.beats, confidence: 0.5 } }));
    expect((await tabOf()).stderr).toContain(
      'the bar lines are a guess (50 % sure): help with --metre, --pickup or --bpm, or write it with --free',
    );
    expect((await tabOf('--quiet')).stderr).toBe('');
  });
});
