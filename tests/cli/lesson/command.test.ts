import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { parseLesson } from '../../../src/cli/lesson/plan.ts';
import { run } from '../../../src/cli/run.ts';
import { formatTake } from '../../../src/take/format.ts';
import { AMAZING_GRACE, playTune, withWords } from '../../export/tunes.ts';
import { captureIo } from '../captured-io.ts';

const grace = withWords(playTune('amazing-grace').take, AMAZING_GRACE);

let dir: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-lesson-'));
  writeFileSync(join(dir, 'grace.take.json'), formatTake(grace));
  writeFileSync(join(dir, 'auld.take.json'), formatTake(playTune('auld-lang-syne').take));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

async function lesson(...argv: string[]) {
  const { io, texts } = captureIo();
  const code = await run(['lesson', ...argv], io);
  return { code, ...texts };
}

describe('reedtrace lesson', () => {
  it('makes one page and one PDF of a folder, with the order and remarks of its text file', async () => {
    writeFileSync(
      join(dir, 'lesson.txt'),
      '# Week 3\n\ngrace.take.json: The tune\n  2: keep it low\nauld.take.json\n',
    );
    const done = await lesson(dir, '--quiet');
    expect(done).toMatchObject({ code: 0, stderr: '' });
    expect(done.stdout).toBe(`${join(dir, 'lesson.html')}\n${join(dir, 'lesson.pdf')}\n`);
    const html = readFileSync(join(dir, 'lesson.html'), 'utf8');
    expect(html.match(/<h2 class="title">[^<]*/g)).toEqual([
      '<h2 class="title">The tune',
      '<h2 class="title">Auld',
    ]);
    expect(html).toContain('<title>Week 3</title>');
    expect(html.indexOf('keep it low')).toBeGreaterThan(html.indexOf('data-line="1" data-from'));
    const pdf = readFileSync(join(dir, 'lesson.pdf'), 'latin1');
    expect(pdf.match(/\/Type \/Page\b(?!s)/g)).toHaveLength(2);
  }, 60_000);

  it('adds an easier way, and says what changes', async () => {
    const done = await lesson(join(dir, 'grace.take.json'), '--easier', '--no-audio');
    expect(done.code).toBe(0);
    // An octave up on the same harp nothing is bent: the A is 6 draw.
    expect(done.stderr).toContain("-3'' becomes -6");
    expect(done.stderr).toContain("the title is 'Grace', from the name of the file");
    expect(readFileSync(join(dir, 'lesson.html'), 'utf8')).toContain('Grace, an easier way');
  }, 60_000);

  it('has verses and bends by ear only once, however often the tune occurs', async () => {
    writeFileSync(join(dir, 'slow.take.json'), formatTake(grace));
    writeFileSync(
      join(dir, 'lesson.txt'),
      '# Grace\n\ngrace.take.json: Grace\nslow.take.json: Grace, slowly\n',
    );
    expect(await lesson(dir, '--no-audio', '--quiet', '--tab-place', 'notes')).toMatchObject({ code: 0 });
    const html = readFileSync(join(dir, 'lesson.html'), 'utf8');
    expect(html.match(/<section class="verses"/g)).toHaveLength(1);
    expect(html.match(/data-kind="glide"/g)).toHaveLength(1);
    // The contents are short where a title begins with that of the lesson.
    expect([...html.matchAll(/<a href="#piece\d">([^<]*)/g)].map(([, text]) => text)).toEqual([
      'Grace',
      'Slowly',
    ]);
    // Tab of the first staff under its own notes: not on one level.
    const staff = /<div class="staff"><svg.*?<\/svg>/.exec(html)?.[0] ?? '';
    const levels = [...staff.matchAll(/<text [^>]*y="([\d.]+)" font-size="15"/g)].map(([, y]) => y);
    expect(new Set(levels).size).toBeGreaterThan(1);
  }, 60_000);

  it('shows a repeated line only once, and leaves out talk', async () => {
    const { io, texts } = captureIo();
    // A pupil who talks between what is played (samples/homework-with-talk.truth.json).
    const sample = 'samples/homework-with-talk.wav';
    expect(await run(['transcribe', sample, '--harp', 'G', '--out', dir, '--quiet'], io), texts.stderr).toBe(
      0,
    );
    const { talkSec } = JSON.parse(readFileSync(sample.replace('.wav', '.truth.json'), 'utf8')) as {
      talkSec: [number, number][];
    };
    expect(talkSec.length).toBeGreaterThan(0);
    const done = await lesson(join(dir, 'homework-with-talk.take.json'), '--once', '--no-audio', '--quiet');
    expect(done).toMatchObject({ code: 0, stderr: '' });
    const html = readFileSync(join(dir, 'lesson.html'), 'utf8');
    const onsets = [...html.matchAll(/class="note[^>]*data-on="([\d.]+)"/g)].map(([, on]) => Number(on));
    expect(onsets.length).toBeGreaterThan(5);
    for (const [from, to] of talkSec) {
      expect(onsets.filter((on) => on > from + 0.1 && on < to - 0.1)).toEqual([]);
    }
  }, 120_000);

  it('removes the folder that it made if it fails', async () => {
    writeFileSync(join(dir, 'bad.take.json'), '{}');
    const out = join(dir, 'new', 'week 3');
    expect((await lesson(join(dir, 'bad.take.json'), '--out', out)).code).not.toBe(0);
    expect(existsSync(join(dir, 'new'))).toBe(false);
  });

  it('overwrites nothing unless told to, and says what is missing', async () => {
    writeFileSync(join(dir, 'lesson.pdf'), 'mine');
    expect((await lesson(dir)).code).toBe(5);
    expect(readFileSync(join(dir, 'lesson.pdf'), 'utf8')).toBe('mine');
    const empty = mkdtempSync(join(dir, 'empty-'));
    expect(await lesson(empty)).toMatchObject({ code: 3 });
    writeFileSync(join(empty, 'lesson.txt'), 'gone.take.json\n');
    expect(await lesson(empty)).toMatchObject({ code: 3 });
  });
});

describe('the text file of a lesson', () => {
  it('has a title, takes with titles, and notes below them', () => {
    expect(parseLesson('# A b\nx.take.json: One: two\n\t1: low\n  high\ny.take.json\n', 'l')).toEqual({
      title: 'A b',
      items: [
        { file: 'x.take.json', title: 'One: two', notes: ['1: low', 'high'] },
        { file: 'y.take.json', title: null, notes: [] },
      ],
    });
    expect(() => parseLesson('  1: low\n', 'l')).toThrow(expect.objectContaining({ code: 'E_USAGE' }));
  });
});
