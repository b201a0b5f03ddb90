/**
 * Opens the exports of `make.ts` in other programs, and prints a table of what they read:
 *   npx tsx tests/bench/lessons/open.ts LESSONS [--only NAME]
 * MuseScore (`mscore3` or MSCORE=path), verovio, music21 (`python3`, or PYTHON=path); abcjs, abcm2ps, abc2midi (or
 * ABC2MIDI=path); LibreOffice (`soffice`) in English and German; poppler. What isn't there is named and left out.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { buildScore, type Score } from '../../../src/export/score.ts';
import { TICKS_PER_BEAT } from '../../../src/music/rhythm/metre.ts';
import { parseTake } from '../../../src/take/parse.ts';
import { notesOfMidi, type ReadNote, readWithAbcjs, readWithVerovio } from '../../export/readers.ts';
import { textTable } from '../scores/table.ts';
import { compareWithMusic21 } from './music21.ts';

const { values, positionals } = parseArgs({ allowPositionals: true, options: { only: { type: 'string' } } });
const [lessons] = positionals;
if (lessons === undefined) throw new Error('say which: npx tsx tests/bench/lessons/open.ts LESSONS');
const out = mkdtempSync(join(tmpdir(), 'reedtrace-open-'));

interface Ran {
  readonly ok: boolean;
  readonly text: string;
}

function run(program: string, ...argv: string[]): Ran {
  const env = { ...process.env, QT_QPA_PLATFORM: 'offscreen' };
  const { status, stdout, stderr } = spawnSync(program, argv, { encoding: 'utf8', env, maxBuffer: 2 ** 28 });
  return { ok: status === 0, text: `${stdout}${stderr}` };
}

const there = (program: string, ...argv: string[]): boolean => spawnSync(program, argv).error === undefined;
const MSCORE = process.env.MSCORE ?? 'mscore3';
const PYTHON = process.env.PYTHON ?? 'python3';
const ABC2MIDI = process.env.ABC2MIDI ?? 'abc2midi';

/**
 * All notes at the same quarter notes, half a 32nd aside: programs shorten what they play, so lengths aren't compared. What
 * sounds during a shake isn't either: some play it in turn, others as a chord, or with as many strokes as they like.
 */
function same(read: readonly ReadNote[], { notes }: Score): string {
  const from = read.length === 0 ? 0 : Math.min(...read.map(({ onset }) => onset));
  const timed = notes.map(({ played, midis, atTicks, lengthTicks }) => ({
    shake: played.shake === true,
    midis,
    onset: (atTicks - notes[0].atTicks) / TICKS_PER_BEAT,
    length: lengthTicks / TICKS_PER_BEAT,
  }));
  const shakes = timed.filter(({ shake }) => shake);
  const inShake = (onset: number) =>
    shakes.some((shake) => onset > shake.onset - NEAR && onset < shake.onset + shake.length - NEAR / 8);
  const order = (a: Sounding, b: Sounding) =>
    Math.round(a.onset / NEAR) - Math.round(b.onset / NEAR) || a.midi - b.midi;
  const wanted = timed
    .filter(({ shake }) => !shake)
    .flatMap(({ midis, onset }) => midis.map((midi) => ({ midi, onset })))
    .sort(order);
  const heard = read
    .map(({ midi, onset }) => ({ midi, onset: onset - from }))
    .filter(({ onset }) => !inShake(onset))
    .sort(order);
  const right = wanted.filter(
    ({ midi, onset }, i) => heard[i]?.midi === midi && Math.abs(heard[i].onset - onset) < NEAR,
  ).length;
  return right === wanted.length && heard.length === wanted.length
    ? 'same'
    : `${right} of ${wanted.length} (${heard.length})`;
}

/** Half a 32nd, in quarter notes. */
const NEAR = 1 / 16;
type Sounding = Pick<ReadNote, 'midi' | 'onset'>;

const midi = (file: string) => notesOfMidi(readFileSync(file));

/** Number cells of a table as LibreOffice reads it in a language (1033 English, 1031 German), and how many there should be. */
function numbersIn(file: string, separator: ',' | ';', language: number): string {
  const filter = `CSV:${separator.charCodeAt(0)},34,76,1,,${language},false,true,false`;
  const { ok } = run(
    'soffice',
    '--headless',
    `-env:UserInstallation=file://${out}/office`,
    `--infilter=${filter}`,
    '--convert-to',
    'fods',
    '--outdir',
    out,
    file,
  );
  const made = join(out, 'tune.fods');
  if (!ok || !existsSync(made)) return 'not read';
  const text = readFileSync(made, 'utf8');
  rmSync(made);
  let found = 0;
  // Equal cells beside each other are written once.
  for (const [cell] of text.matchAll(/<table:table-cell[^>]*office:value-type="float"[^>]*>/g)) {
    found += Number(/number-columns-repeated="(\d+)"/.exec(cell)?.[1] ?? 1);
  }
  const dates = text.match(/office:value-type="(?:date|time)"/g)?.length ?? 0;
  const number = separator === ',' ? /^-?\d+(?:\.\d+)?$/ : /^-?\d+(?:,\d+)?$/;
  const rows = readFileSync(file, 'utf8')
    .replace(/^\uFEFF/, '')
    .trim()
    .split('\r\n')
    .slice(1);
  const wanted = rows.flatMap((row) => row.split(separator)).filter((cell) => number.test(cell)).length;
  return found === wanted && dates === 0 ? 'same' : `${found} of ${wanted} numbers, ${dates} dates`;
}

/** Pages; whether every font is inside and every word on the page. */
function pdfOf(file: string): string {
  const pages = Number(/Pages:\s+(\d+)/.exec(run('pdfinfo', file).text)?.[1]);
  const fonts = run('pdffonts', file).text.trim().split('\n').slice(2);
  const inside = fonts.every((row) => /\syes\s+(?:yes|no)\s+(?:yes|no)\s+\d+\s+\d+\s*$/.test(row));
  const box = run('pdftotext', '-bbox', file, '-').text;
  let off = 0;
  for (const page of box.split('<page ').slice(1)) {
    const [width, height] = ['width', 'height'].map((name) =>
      Number(new RegExp(`${name}="([\\d.]+)"`).exec(page)?.[1]),
    );
    for (const [, x, y, right, bottom] of page.matchAll(
      /<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)"/g,
    )) {
      if (Number(x) < 20 || Number(y) < 20 || Number(right) > width - 20 || Number(bottom) > height - 15)
        off++;
    }
  }
  const drawn = run('pdftoppm', '-r', '50', '-png', file, join(out, 'page')).ok;
  return `${pages} ${pages === 1 ? 'page' : 'pages'}${inside ? '' : ', fonts missing'}${off === 0 ? '' : `, ${off} words off`}${drawn ? '' : ', not drawn'}`;
}

const PROGRAMS = {
  verovio: async (file: string, score: Score) => {
    const { notes, log } = await readWithVerovio(readFileSync(`${file}.musicxml`, 'utf8'));
    return `${same(notes, score)}${log === '' ? '' : ', complains'}`;
  },
  MuseScore: async (file: string, score: Score) => {
    const made = join(out, 'mscore.mid');
    rmSync(made, { force: true });
    run(MSCORE, '-o', made, `${file}.musicxml`);
    return existsSync(made) ? same(midi(made), score) : 'not read';
  },
  music21: async (file: string, score: Score) => compareWithMusic21(PYTHON, `${file}.musicxml`, score),
  abcjs: async (file: string, score: Score) => {
    const { notes, warnings } = readWithAbcjs(readFileSync(`${file}.abc`, 'utf8'));
    return `${same(notes, score)}${warnings.length === 0 ? '' : ', complains'}`;
  },
  abc2midi: async (file: string, score: Score) => {
    const made = join(out, 'abc.mid');
    rmSync(made, { force: true });
    const { text } = run(ABC2MIDI, `${file}.abc`, '-o', made);
    return existsSync(made)
      ? `${same(midi(made), score)}${/error/i.test(text) ? ', complains' : ''}`
      : 'not read';
  },
  abcm2ps: async (file: string) => {
    const { ok, text } = run('abcm2ps', `${file}.abc`, '-O', join(out, 'abc.ps'));
    // A last line that does not fill the page is not a fault.
    return ok && !/error|warning: (?!Line underfull)/i.test(text) ? 'no complaint' : 'complains';
  },
  'LibreOffice, English': async (file: string) => numbersIn(`${file}.csv`, ',', 1033),
  'LibreOffice, German': async () => numbersIn(join(out, 'comma', 'tune.csv'), ';', 1031),
  'poppler, tune': async (file: string) => pdfOf(`${file}.pdf`),
} as const;
type Program = keyof typeof PROGRAMS;

const MISSING: readonly Program[] = [
  ...(there(MSCORE, '--version') ? [] : (['MuseScore'] as const)),
  ...(run(PYTHON, '-c', 'import music21').ok ? [] : (['music21'] as const)),
  ...(there(ABC2MIDI) ? [] : (['abc2midi'] as const)),
  ...(there('abcm2ps') ? [] : (['abcm2ps'] as const)),
  ...(there('soffice', '--version') ? [] : (['LibreOffice, English', 'LibreOffice, German'] as const)),
  ...(there('pdftoppm', '-v') ? [] : (['poppler, tune'] as const)),
];
const programs = (Object.keys(PROGRAMS) as Program[]).filter((program) => !MISSING.includes(program));
if (MISSING.length > 0) console.log(`Not there, and left out: ${MISSING.join('; ')}\n`);

const rows: string[][] = [];
for (const name of readdirSync(lessons).sort()) {
  const take = join(lessons, name, 'tune.take.json');
  if (!existsSync(take) || (values.only !== undefined && values.only !== name)) continue;
  const formats = ['export', take, '--force', '--quiet'];
  for (const argv of [
    ['--as', 'musicxml,abc,midi,csv,pdf', '--csv-decimal', 'point', '--paper', 'a4', '--out', out],
    ['--as', 'csv', '--csv-decimal', 'comma', '--out', join(out, 'comma')],
  ]) {
    const made = run(process.execPath, 'bin/reedtrace.js', ...formats, ...argv);
    if (!made.ok) throw new Error(made.text);
  }
  const file = join(out, 'tune');
  const score = buildScore(parseTake(readFileSync(take, 'utf8'), take), name);
  const row = [name];
  for (const program of programs) row.push(await PROGRAMS[program](file, score));
  const lesson = join(lessons, name, 'lesson.pdf');
  row.push(programs.includes('poppler, tune') && existsSync(lesson) ? pdfOf(lesson) : '');
  rows.push(row);
  console.error(row.join(' · '));
}
rmSync(out, { recursive: true, force: true });
console.log(textTable([['song', ...programs, 'poppler, lesson'], ...rows]));
