import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { XMLValidator } from 'fast-xml-parser';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../../../src/cli/run.ts';
import { formatTake } from '../../../src/take/format.ts';
import { strokesOf, takeOf } from '../../check/student.ts';
import { captureIo } from '../captured-io.ts';

const TUNE = "-3 -3'' 4 -4 4 -3'' -2 -3\n4 6 6 5 -4 4 -3 -3''\n";
let folder: string;
const inFolder = (...names: string[]): string => join(folder, ...names);

async function check(...args: string[]): Promise<{ code: number; stdout: string; stderr: string }> {
  const { io, texts } = captureIo();
  const code = await run(['check', ...args, '--against', inFolder('tune.txt')], io);
  return { code, ...texts };
}

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'weeks-'));
  await mkdir(inFolder('anna'));
  await writeFile(inFolder('tune.txt'), TUNE);
  for (const [i, cents] of [60, 47, 41, 30].entries()) {
    const strokes = strokesOf(TUNE.replace('\n', ' ')).map((stroke) =>
      stroke.tab.bend > 0 ? { ...stroke, changes: { cents } } : stroke,
    );
    const take = takeOf(strokes);
    // The recording's own date counts before that of the name.
    const source = {
      ...take.source,
      recordedOn: `2026-03-${String(2 + 7 * i).padStart(2, '0')}`,
      sha256: `${i}`,
    };
    await writeFile(inFolder('anna', `2020-01-0${9 - i}.take.json`), formatTake({ ...take, source }));
  }
});
afterAll(() => rm(folder, { recursive: true }));

describe('reedtrace check over the weeks', () => {
  it("puts one pupil's takes in order of time, and says what got better", async () => {
    const { code, stdout } = await check(inFolder('anna'), '--weeks');
    expect(code).toBe(0);
    expect(stdout).toContain('4 takes compared with tune.txt, on 4 days from 2026-03-02 to 2026-03-23');
    expect(stdout.replace(/\s+/g, ' ')).toContain(
      'distance of bends from their targets: 60, 47, 41, 30 cents; better by 9.6 ± ',
    );
  });

  it('accepts several files as one pupil, and days given by option', async () => {
    const names = await readdir(inFolder('anna'));
    const { stdout } = await check(
      ...names.map((name) => inFolder('anna', name)),
      '--date',
      '2026-01-05',
      '--date',
      `${names[0]}=2026-02-09`,
      '--json',
    );
    const { takes, courses } = JSON.parse(stdout);
    expect(takes.map(({ date, dateFrom }: { date: string; dateFrom: string }) => [date, dateFrom])).toEqual([
      ['2026-01-05', 'option'],
      ['2026-01-05', 'option'],
      ['2026-01-05', 'option'],
      ['2026-02-09', 'option'],
    ]);
    expect(courses.every(({ trend }: { trend: unknown }) => trend === null)).toBe(true);
  });

  it('draws the chart, alone and in a page', async () => {
    const { stdout } = await check(inFolder('anna'), '--weeks', '--svg');
    expect(XMLValidator.validate(stdout)).toBe(true);
    await check(inFolder('anna'), '--weeks', '--out', inFolder('out'));
    expect(await readdir(inFolder('out'))).toEqual(['weeks.csv', 'weeks.html', 'weeks.json', 'weeks.svg']);
    expect(await readFile(inFolder('out', 'weeks.html'), 'utf8')).toContain('<svg');
  });

  it('refuses combinations that make no sense, in a sentence', async () => {
    expect((await check(inFolder('anna'), '--svg')).stderr).toContain('--weeks');
    const { code, stderr } = await check(inFolder('anna'), '--weeks', '--date', '5 March');
    expect(code).toBe(2);
    expect(stderr).toContain('2026-03-05');
  });
});
