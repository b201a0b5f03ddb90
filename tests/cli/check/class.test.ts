import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../../../src/cli/run.ts';
import { formatTake } from '../../../src/take/format.ts';
import { type Stroke, strokesOf, takeOf } from '../../check/student.ts';
import { captureIo } from '../captured-io.ts';

const TUNE = '5 5 -5 6 6 -5 5 -4\n4 4 -4 5 5 -4 -4 4\n';
let folder: string;
const inFolder = (...names: string[]): string => join(folder, ...names);

async function check(...args: string[]): Promise<{ code: number; stdout: string; stderr: string }> {
  const { io, texts } = captureIo();
  const code = await run(['check', inFolder('class'), '--against', inFolder('tune.txt'), ...args], io);
  return { code, ...texts };
}

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'class-'));
  await mkdir(inFolder('class'));
  await writeFile(inFolder('tune.txt'), TUNE);
  const right = strokesOf(TUNE.replace('\n', ' '));
  const wrong = right.map(
    (stroke, i): Stroke => (i === 2 || i === 9 ? { ...stroke, tab: { ...stroke.tab, hole: 8 } } : stroke),
  );
  const put = (name: string, strokes: readonly Stroke[]): Promise<void> =>
    writeFile(inFolder('class', `${name}.take.json`), formatTake(takeOf(strokes)));
  await put('ann', right);
  await put('ben', wrong);
  await put('cleo', right.slice(0, 8));
  await writeFile(inFolder('class', 'dora.take.json'), '{ broken');
});
afterAll(() => rm(folder, { recursive: true }));

describe('reedtrace check of a class', () => {
  it('judges every pupil, even if one file is bad', async () => {
    const { code, stdout, stderr } = await check('--json');
    expect(code).toBe(3);
    expect(stderr).toContain('dora');
    const document = JSON.parse(stdout);
    expect(document.pupils.map(({ id }: { id: string }) => id)).toEqual(['ann', 'ben', 'cleo', 'dora']);
    expect(document.pupils[0]).toMatchObject({ score: 100, findings: [] });
    expect(document.pupils[1].findings).toHaveLength(2);
    expect(document.pupils[3]).toMatchObject({ score: null, findings: [] });
    expect(document.class.sentPart).toEqual([{ id: 'cleo', missingLines: [2] }]);
    expect(document.class.needs[0]).toMatchObject({ kind: 'wrong-note', ids: ['ben'] });
  });

  it('reads the repeats of a score as the first pupil plays them', async () => {
    await mkdir(inFolder('repeats'));
    await writeFile(inFolder('tune.abc'), 'X:1\nM:4/4\nL:1/4\nK:C\n|:CDEF|GAGF|1 E2D2:|2 E2C2|]\n');
    const once = strokesOf('4 -4 5 -5 6 -6 6 -5 5:2 4:2');
    for (const name of ['ann', 'ben'])
      await writeFile(inFolder('repeats', `${name}.take.json`), formatTake(takeOf(once)));
    const { io, texts } = captureIo();
    await run(['check', inFolder('repeats'), '--against', inFolder('tune.abc'), '--json'], io);
    const document = JSON.parse(texts.stdout);
    expect(document.pupils.map(({ score }: { score: number }) => score)).toEqual([100, 100]);
    expect(document.class.sentPart).toEqual([]);
  });

  it('gives a table, CSV and pages', async () => {
    const { stdout } = await check();
    expect(stdout).toMatch(/3 of 4 pupils compared with tune\.txt/);
    expect(stdout).toMatch(/ben +\d+ +2 wrong notes/);
    const csv = (await check('--csv')).stdout.split('\r\n');
    expect(csv[0]).toMatch(/^pupil,score/);
    expect(csv).toHaveLength(6);
    await check('--out', inFolder('pages'));
    expect(await readdir(inFolder('pages'))).toEqual(
      expect.arrayContaining(['ann.html', 'ben.html', 'class.html', 'class.csv', 'class.json']),
    );
    expect(await readFile(inFolder('pages', 'ben.html'), 'utf8')).toContain('2 wrong notes');
  });

  it('says who sent another tune, and leaves it out of what several need', async () => {
    const other = takeOf(strokesOf('1 -1 1 -1 1 -1 10 9 10 9 1 -1 1 10'));
    await mkdir(inFolder('mixed'));
    await writeFile(
      inFolder('mixed', 'ann.take.json'),
      formatTake(takeOf(strokesOf(TUNE.replace('\n', ' ')))),
    );
    await writeFile(inFolder('mixed', 'jon.take.json'), formatTake(other));
    const { io, texts } = captureIo();
    await run(['check', inFolder('mixed'), '--against', inFolder('tune.txt')], io);
    expect(texts.stdout).toMatch(/jon +- +probably another tune/);
    expect(texts.stdout).toContain('Probably sent another tune: jon');
    expect(texts.stdout).toContain('median 100 of 100, from 100 to 100');
    expect(texts.stdout).not.toContain('need');
  });

  it('refuses options for a single pupil', async () => {
    expect((await check('--before', inFolder('class', 'ann.take.json'))).code).toBe(2);
  });

  it("prints the table even if the pages can't be written", async () => {
    await mkdir(inFolder('blocked', 'ann.html'), { recursive: true });
    const { code, stdout, stderr } = await check('--out', inFolder('blocked'));
    expect(code).toBe(5);
    expect(stdout).toMatch(/ben +\d+ +2 wrong notes/);
    expect(stderr).toContain('ann.html');
  });
});
