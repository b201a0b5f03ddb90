import { copyFile, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { XMLValidator } from 'fast-xml-parser';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../../../src/cli/run.ts';
import { formatTake } from '../../../src/take/format.ts';
import { strokesOf, takeOf } from '../../check/student.ts';
import { captureIo } from '../captured-io.ts';

let folder: string;
const path = (name: string): string => join(folder, name);

/** A take in which each sign is held so many cents off its target. */
const takeWith = (notes: readonly (readonly [tab: string, cents: number])[], key = 'C') =>
  formatTake(
    takeOf(
      notes.map(([tab, cents], i) => ({ ...strokesOf(tab)[0], onset: i, changes: { cents } })),
      { key },
    ),
  );

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'reedtrace-'));
  await mkdir(path('takes'));
  await writeFile(
    path('takes/2026-03-02.take.json'),
    takeWith([
      ["-3''", 60],
      ["-3''", 50],
      ["-4'", 4],
      ['4', 0],
    ]),
  );
  await writeFile(
    path('takes/2026-03-09.take.json'),
    takeWith(
      [
        ["-3''", 42],
        ["-4'", -3],
      ],
      'A',
    ),
  );
  await writeFile(
    path('takes/2026-03-16.take.json'),
    takeWith([
      ["-3''", 30],
      ["-4'", 5],
    ]),
  );
  await writeFile(
    path('takes/2026-03-23.take.json'),
    takeWith([
      ["-3''", 17],
      ["-4'", -30],
    ]),
  );
  await writeFile(
    path('plain.take.json'),
    takeWith([
      ['4', 0],
      ['5', 0],
    ]),
  );
});
afterAll(() => rm(folder, { recursive: true }));

async function bends(...args: string[]) {
  const { io, texts } = captureIo();
  const code = await run(['bends', ...args], io);
  return { code, ...texts };
}

describe('reedtrace bends', () => {
  it('shows each bend in 80 columns, those that need most work first', async () => {
    const { code, stdout, stderr } = await bends(path('takes'));
    expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
    // Distances 55 42 30 17 by week: slope -63 / 5, t 4.303 × sqrt(0.1 / 5) [calc].
    expect(stdout).toBe(`9 bends in 4 takes, those that need most work first; in tune means within 25 cents
judged by how each harp is tuned

        -75                           0                           +75
-3''    ....................(.........|......1..).1....1..1...1......
        1 of 5 in tune (4 short); median +42, spread 22 cents
        steady within 2 cents, settled after 0.00 s; getting nearer by 12.6 ± 0.6 cents a week over 4 days
-4'     ..................1.(........1|.2.......)....................
        3 of 4 in tune (1 too deep); median +1, spread 18 cents
        steady within 2 cents, settled after 0.00 s; no clear change over 4 days

strip: 1-9 notes at a place, ( ) tolerance, | target; left too deep, right short
`);
  });

  it('counts a copied take once, and says so', async () => {
    const once = await bends(path('takes'));
    await mkdir(path('copies'));
    await copyFile(path('takes/2026-03-02.take.json'), path('copies/copy.take.json'));
    const twice = await bends(path('takes'), path('copies'));
    expect(twice.stdout).toBe(once.stdout);
    expect(twice.stderr).toBe(
      'copy.take.json is of the same recording as 2026-03-02.take.json: counted once\n',
    );
  });

  it('--json has everything in the text, and every note', async () => {
    const { stdout } = await bends(path('takes'), '--json', '--tolerance', '20');
    const document = JSON.parse(stdout);
    expect(document).toMatchObject({ format: 'reedtrace-bends', version: 1, toleranceCents: 20, leftOut: 0 });
    expect(document.takes.map(({ date }: { date: string }) => date)).toEqual([
      '2026-03-02',
      '2026-03-09',
      '2026-03-16',
      '2026-03-23',
    ]);
    expect(document.bends[0]).toMatchObject({
      hole: 3,
      breath: 'draw',
      bend: 2,
      count: 5,
      medianCents: 42,
      withinTolerance: 0.2,
      steadinessCents: 2,
      settleSec: 0,
      trend: { direction: 'nearer', days: 4 },
    });
    expect(document.bends[0].notes).toHaveLength(5);
  });

  it('--csv prints one row per note', async () => {
    const rows = (await bends(path('takes'), '--csv')).stdout.trimEnd().split('\r\n');
    expect(rows).toHaveLength(10);
    expect(rows[0]).toBe(
      'file,date,harp,note_id,onset_s,hole,breath,bend,over,cents,steadiness_cents,settle_s',
    );
    expect(rows[1]).toBe('2026-03-02.take.json,2026-03-02,C,n1,1,3,draw,2,false,60,2,0');
  });

  it('--svg prints well-formed SVG with a dot for each note, on its strip and on its day, and values in words', async () => {
    const { stdout } = await bends(path('takes'), '--svg');
    expect(XMLValidator.validate(stdout)).toBe(true);
    expect(stdout.match(/<circle/g)).toHaveLength(18);
    expect(stdout).toContain('1 of 5 in tune, median +42');
  });

  it('--against a tune says which bend was meant, and --practice what to do about it', async () => {
    await writeFile(path('tune.txt'), "-3'' -3'' -4' 4\n");
    const { code, stdout } = await bends(
      path('takes/2026-03-02.take.json'),
      '--against',
      path('tune.txt'),
      '--practice',
    );
    expect(code).toBe(0);
    expect(stdout).toContain('where: line 1, note 1; line 1, note 2');
    expect(stdout).toContain("comes: once at the start of a phrase; once from -3'', on the same hole");
    expect(stdout.replace(/\s+/g, ' ')).toContain('yours: best 50 cents short');
    const { practice } = JSON.parse(
      (await bends(path('takes/2026-03-02.take.json'), '--practice', '--json')).stdout,
    );
    expect(practice.bends[0]).toMatchObject({
      hole: 3,
      bend: 2,
      best: { cents: 50 },
      typical: { cents: 60 },
    });
  });

  it('--html writes the plan as a page, once', async () => {
    const { stdout } = await bends(path('takes'), '--html', path('plan.html'));
    expect(stdout.trim()).toBe(path('plan.html'));
    const page = await readFile(path('plan.html'), 'utf8');
    expect(page).toContain('Hear the target');
    expect(page).toContain('The recording is not next to the take');
    expect((await bends(path('takes'), '--html', path('plan.html'))).stderr).toContain('--force');
  });

  it('judges by equal temperament when asked', async () => {
    const { stdout } = await bends(path('takes'), '--judge-by', 'equal', '--a4', '443', '--json');
    // A4 = 443 Hz is 11.764 cents above 440 (facts.md 3.3): all read so much lower.
    expect(JSON.parse(stdout).bends[0].medianCents).toBeCloseTo(42 - 11.8, 1);
  });

  it('without bends prints a sentence and exits with 4, or prints an empty list', async () => {
    const { code, stderr } = await bends(path('plain.take.json'));
    expect(code).toBe(4);
    expect(stderr).toBe('error: no bends were played; give takes with bent notes\n');
    expect(JSON.parse((await bends(path('plain.take.json'), '--json')).stdout).bends).toEqual([]);
  });

  it('continues if one take is missing', async () => {
    const { code, stdout, stderr } = await bends(
      path('nothing.take.json'),
      path('takes/2026-03-02.take.json'),
    );
    expect(code).toBe(3);
    expect(stdout).toContain('3 bends in 1 take');
    expect(stderr).toContain('does not exist');
  });
});
