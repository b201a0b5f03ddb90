import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { writeMidi } from 'midi-file';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { TUNES } from '../../../samples/tunes.ts';
import { run } from '../../../src/cli/run.ts';
import { formatTake } from '../../../src/take/format.ts';
import { type Stroke, strokesOf, takeOf } from '../../check/student.ts';
import { captureIo } from '../captured-io.ts';

let folder: string;
const path = (name: string): string => join(folder, name);

const TUNE = TUNES['brother-john'];
const GOOD = strokesOf(TUNE);
/** A wrong note, one missing, a bend that isn't there, a leak. */
const FLAWED: Stroke[] = GOOD.flatMap((stroke, i) => {
  if (i === 5) return [];
  if (i === 9) return [{ ...stroke, tab: strokesOf('7')[0].tab }];
  if (i === 12) return [{ ...stroke, changes: { leak: { hole: 5, levelDb: -12, share: 1, kind: 'leak' } } }];
  return [stroke];
});

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'reedtrace-'));
  await writeFile(path('teacher.take.json'), formatTake(takeOf(GOOD)));
  await writeFile(path('good.take.json'), formatTake(takeOf(GOOD, { key: 'A', beatSec: 0.6 })));
  await writeFile(path('flawed.take.json'), formatTake(takeOf(FLAWED)));
  await writeFile(path('tune.txt'), TUNE.replaceAll(':.', ':0.').replaceAll(' | ', '\n'));
  const midi = writeMidi({
    header: { format: 0, numTracks: 1, ticksPerBeat: 480 },
    tracks: [
      [
        ...takeOf(GOOD).notes.flatMap((note, i) => {
          const length = GOOD[i].length * 480;
          return [
            {
              deltaTime: 0,
              type: 'noteOn' as const,
              channel: 0,
              noteNumber: Math.round(note.midi),
              velocity: 80,
            },
            {
              deltaTime: length,
              type: 'noteOff' as const,
              channel: 0,
              noteNumber: Math.round(note.midi),
              velocity: 0,
            },
          ];
        }),
        { deltaTime: 0, type: 'endOfTrack' as const, meta: true },
      ],
    ],
  });
  await writeFile(path('tune.mid'), Uint8Array.from(midi));
});
afterAll(() => rm(folder, { recursive: true }));

async function check(...args: string[]) {
  const { io, texts } = captureIo();
  const code = await run(['check', ...args], io);
  return { code, ...texts };
}

describe('reedtrace check', () => {
  it('takes the repeats of a score as they were played', async () => {
    const score = 'X:1\nM:4/4\nL:1/4\nK:C\n|:CDEF|GAGF|1 E2D2:|2 E2C2|]\n';
    await writeFile(path('repeats.abc'), score);
    const take = async (name: string, tab: string) =>
      writeFile(path(name), formatTake(takeOf(strokesOf(tab))));
    await take('once.take.json', '4 -4 5 -5 6 -6 6 -5 5:2 4:2');
    await take('twice.take.json', '4 -4 5 -5 6 -6 6 -5 5:2 -4:2 4 -4 5 -5 6 -6 6 -5 5:2 4:2');
    for (const [name, remark] of [
      ['once.take.json', /read once/],
      ['twice.take.json', /written out/],
    ] as const) {
      const { stdout, stderr } = await check(path(name), '--against', path('repeats.abc'));
      expect(stdout).toMatch(/no slips in/);
      expect(stderr).toMatch(remark);
    }
    const { stdout } = await check(path('twice.take.json'), '--against', path('repeats.abc'), '--no-repeats');
    expect(stdout).toMatch(/2 attempts: /);
  });

  it('says what was played differently, what to work on, and what went well', async () => {
    const { code, stdout, stderr } = await check(path('flawed.take.json'), '--against', path('tune.txt'));
    expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
    expect(stdout).toBe(`flawed.take.json compared with tune.txt: 95 of 100
  notes    94   2 slips in 32 notes
  timing  100   none of 29 early or late
  bends     -   no bends to judge
  clean    97   30 of 31 clean

Work on first
1.  One missing note, in line 2.
    Read line 2 aloud, hole by hole, then play it slowly without leaving any
    out.
2.  One wrong note, in line 3.
    Play line 3 at half speed until it is right three times running, then a
    little faster each time.
3.  A second reed sounds in 1 of 31 notes, 12 dB below, in line 4.
    Hold each note of the scale for four beats and narrow your lips until only
    one reed sounds.

Went well
-  30 of 32 notes are right
-  even time: two notes in three within 0.01 s of your own beat

Note by note
0:03.5  -4 (D5) in line 2, note 2 is missing
0:05.5  in line 3, note 2 you played 7 (C6) instead of -5 (F5), 7 semitones
        above
0:07.5  hole 5 sounds along with -5 in line 4, note 2, 12 dB below it

judged: bends within 25 cents of the harp's own tuning, time within 0.1 s,
        second reeds from -20 dB
`);
  });

  it.each(['tune.txt', 'tune.mid', 'teacher.take.json'])(
    'finds no faults on another harp and at another tempo than %s',
    async (reference) => {
      const { code, stdout } = await check(
        path('good.take.json'),
        '--against',
        path(reference),
        '--harp',
        'C',
        '--pass',
        '100',
      );
      expect(code).toBe(0);
      expect(stdout).toContain('100 of 100, passes 100');
      expect(stdout).toContain('no faults found');
      expect(stdout).toContain('3 semitones below the reference throughout');
    },
  );

  it('--json has every finding with kind, time, note, place, sentence and number', async () => {
    const { stdout } = await check(
      path('flawed.take.json'),
      '--against',
      path('teacher.take.json'),
      '--json',
    );
    const document = JSON.parse(stdout);
    expect(document).toMatchObject({
      format: 'reedtrace-check',
      version: 1,
      reference: { notes: 32, shiftSemitones: 0 },
    });
    expect(
      document.findings.map(({ kind, noteId, referenceIndex }: Record<string, unknown>) => [
        kind,
        noteId,
        referenceIndex,
      ]),
    ).toEqual([
      ['missed', null, 5],
      ['wrong-note', 'n9', 9],
      ['second-reed', 'n12', 12],
    ]);
    expect(document.findings[2].value).toBe(-12);
    expect(document.score).toBeGreaterThan(90);
    expect(document.parts).toHaveLength(4);
    expect(document.workOn).toHaveLength(3);
    expect(document.wentWell.length).toBeGreaterThan(0);
  });

  it('--pass sets the exit code', async () => {
    expect((await check(path('flawed.take.json'), '--against', path('tune.txt'), '--pass', '97')).code).toBe(
      1,
    );
    expect((await check(path('flawed.take.json'), '--against', path('tune.txt'), '--pass', '90')).code).toBe(
      0,
    );
  });

  it('--before says what got better', async () => {
    const { stdout } = await check(
      path('good.take.json'),
      '--against',
      path('teacher.take.json'),
      '--before',
      path('flawed.take.json'),
    );
    expect(stdout).toContain('Since the earlier take');
    expect(stdout).toMatch(/no clear change: score, \d+ before, 100 of 100 now \(could be chance\)/);
  });

  it.each([
    ['', "'rests.txt': the tab has no notes"],
    ["4 -9'''", "'rests.txt': "],
  ])('names the tab file that can not be read: %j', async (tab, message) => {
    await writeFile(path('rests.txt'), tab);
    const { code, stderr } = await check(
      path('good.take.json'),
      '--against',
      path('rests.txt'),
      '--harp',
      'C',
    );
    expect(code).toBe(3);
    expect(stderr).toContain(message);
  });

  it('- reads a tune from standard input, but not twice', async () => {
    const { code, stderr } = await check('-', '--against', '-');
    expect(code).toBe(2);
    expect(stderr).toContain('standard input can be read only once');
  });

  it.each([
    [['nothing.take.json', '--against', 'tune.txt'], 3, 'does not exist'],
    [['flawed.take.json', '--against', 'nothing.mid'], 3, 'does not exist'],
    [['flawed.take.json'], 2, '--against'],
    [['flawed.take.json', '--against', 'tune.txt', '--pass', 'high'], 2, '0 to 100'],
  ])('%j fails in one line', async (args, code, says) => {
    const named = args.map((arg) => (/\.(json|txt|mid)$/.test(arg) ? path(arg) : arg));
    const result = await check(...named);
    expect(result.code).toBe(code);
    expect(result.stderr).toContain(says);
    expect(result.stderr.trimEnd().split('\n')).toHaveLength(1);
    expect(result.stdout).toBe('');
  });

  it('handles a student who plays none of the tune', async () => {
    await writeFile(path('other.take.json'), formatTake(takeOf(strokesOf('1 -1 1 -1 1 -1 10 9 10 9'))));
    const { code, stdout } = await check(
      path('other.take.json'),
      '--against',
      path('tune.txt'),
      '--pass',
      '50',
    );
    expect(code).toBe(1);
    expect(stdout).toContain('probably another tune');
    expect(stdout).not.toMatch(/Work on|Note by note/);
  });

  it('leaves the take unchanged', async () => {
    const before = await readFile(path('flawed.take.json'), 'utf8');
    await check(path('flawed.take.json'), '--against', path('tune.txt'), '--judge-by', 'equal');
    expect(await readFile(path('flawed.take.json'), 'utf8')).toBe(before);
  });

  it('reports a run of missing notes in one line, and each of them in JSON', async () => {
    const file = path('gap.take.json');
    await writeFile(file, formatTake(takeOf(GOOD.filter((_, i) => i < 8 || i > 13))));
    const { stdout } = await check(file, '--against', path('tune.txt'));
    expect(stdout).toContain('6 notes in a row are missing, from ');
    expect(stdout).not.toContain('is missing');
    const { findings } = JSON.parse((await check(file, '--against', path('tune.txt'), '--json')).stdout);
    expect(findings.filter(({ kind }: { kind: string }) => kind === 'missed')).toHaveLength(6);
  });

  it('reports a run of extra notes in one line, and each of them in JSON', async () => {
    const more = [
      ...GOOD,
      ...strokesOf('-8 8 -9 9 -10 10').map((stroke) => ({ ...stroke, onset: stroke.onset + 40 })),
    ];
    await writeFile(path('more.take.json'), formatTake(takeOf(more)));
    const { stdout } = await check(path('more.take.json'), '--against', path('tune.txt'));
    expect(stdout).toContain('6 extra notes, up to 0:23.5');
    expect(stdout).not.toContain('is an extra note');
    const { stdout: json } = await check(path('more.take.json'), '--against', path('tune.txt'), '--json');
    expect(JSON.parse(json).findings).toHaveLength(6);
  });

  it('asks whether it is the right tune when few notes agree', async () => {
    await writeFile(path('other.txt'), '-1 -2 -1 -2 1 -1 -2 -1 -2 1 2 -1 -2 1 2');
    const { stdout } = await check(path('good.take.json'), '--against', path('other.txt'));
    expect(stdout).toMatch(/only \d+ of 15 notes match/);
  });

  it('says first what is wrong with the recording, and nothing if a take has none', async () => {
    const { peakTo } = await import('../../../samples/synth/scene/degrade.ts');
    const { encodeWav } = await import('../../../src/sound/write-wav.ts');
    const { soundTab } = await import('../../../src/sound/tab-sound.ts');
    const notes = takeOf(GOOD.slice(0, 10)).notes.map(({ onsetSec, offsetSec, f0Hz }) => ({
      onsetSec,
      offsetSec,
      f0Hz,
    }));
    const clean = soundTab(notes, 0, notes[notes.length - 1].offsetSec + 1, 22_050);
    // Cut off at a third of the peak, as by a level that is far too high.
    const clipped = clean.map((value) => Math.max(-0.05, Math.min(0.05, value)));
    await writeFile(path('loud.wav'), encodeWav(peakTo(clipped, 1), 22_050, 16));
    const { io, texts } = captureIo();
    await run(
      ['check', path('loud.wav'), '--against', path('teacher.take.json'), '--harp', 'C', '--quiet'],
      io,
    );
    expect(texts.stdout).toMatch(
      /^recording: the recording is too loud and the tops of the sound are cut off/,
    );
    expect(texts.stdout).toContain('`reedtrace recording` with the file says what to do about it');
    const { io: ofTake, texts: alone } = captureIo();
    await run(['check', path('good.take.json'), '--against', path('teacher.take.json'), '--json'], ofTake);
    expect(JSON.parse(alone.stdout).recording).toBeNull();
  }, 120_000);
});
