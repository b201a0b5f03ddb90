import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { XMLValidator } from 'fast-xml-parser';
import { writeMidi } from 'midi-file';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../../../src/cli/run.ts';
import { formatTabNote } from '../../../src/tab/text.ts';
import { readTake } from '../../../src/take/files/store.ts';
import { formatTake } from '../../../src/take/format.ts';
import { buildTake } from '../../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../../take/example.ts';

async function reedtrace(argv: string[], stdin = '') {
  let stdout = '';
  let stderr = '';
  const code = await run(argv, {
    stdout: { write: (text) => (stdout += text) },
    stderr: { write: (text) => (stderr += text) },
    stdin: Readable.from(stdin === '' ? [] : [Buffer.from(stdin)]),
    env: {},
    signal: new AbortController().signal,
    reportDir: tmpdir(),
  });
  return { code, stdout, stderr };
}

let folder: string;
const path = (name: string) => join(folder, name);
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'reedtrace-'));
  await writeFile(path('low.txt'), "1 -1 2 -2''\n-2 -3'' -3 4\n");
});
afterAll(() => rm(folder, { recursive: true }));

/** D major on a D harp, as every format says it. */
const MIDIS = [62, 64, 66, 67, 69, 71, 73, 74];

describe('reedtrace arrange', () => {
  it('says what is played, what is easier, why, and where the notes lie', async () => {
    const { code, stdout, stderr } = await reedtrace([
      'arrange',
      path('low.txt'),
      ...['--harp', 'D', '--harps', 'D', '--tunings', 'richter,solo', '--keep-key', '--limit', '2'],
    ]);
    expect(code).toBe(0);
    // Worked check: two bends low, none an octave up, none on solo [calculated]. Costs by hand from the table, notes of
    // 0.6 s: -2'' 1.8 × (1 + 0.05 held + 0.4 attacked) = 2.61; -3'' 1.8 × 1.5 in between × 1.45 = 3.915; moves 0.29;
    // an octave up only moves: 4 × 0.05 + 0.03 + 2 × 0.08 = 0.39
    expect(stdout).toBe(`low.txt: 8 notes, keynote D (guessed)
as played, on the D harp, Richter: 2 bends, difficulty 6.8
   hard: line 2, note 2: whole-tone draw bend on 3, attacked without a glide
   hard: line 1, last note: whole-tone draw bend on 2, attacked without a glide

In short
1.  Play it on your D harp, an octave higher: no bends at all, and 8 of 8 notes
    are played differently.
2.  Play it on a D harp in another tuning (solo (first ten holes)), at the same
    pitch: no bends at all, and 4 of 8 notes are played differently; you need
    that harp for it.
3.  Keep it as practice: -2'' comes once; hear its pitch first, reach it from
    the plain note of the same hole, and hold it for four beats before you play
    it in the tune (common practice).

In full

1. D harp, Richter, 1st position (straight), an octave up
   no bends, difficulty 0.4 (moves and leaps 0.4), plus 3.0 to learn or buy
   compared with now: 8 of 8 notes played differently, 2 fewer bends
      4 -4 5 -5
      6 -6 -7 7

2. D harp, solo (first ten holes), 1st position (straight), same pitch
   no bends, difficulty 2.4 (another tuning 2.0, moves and leaps 0.4), plus 1.5 to learn or buy
   compared with now: 4 of 8 notes played differently, 2 fewer bends
      1 -1 2 -2
      3 -3 -4 4

4 blow · -4 draw · -3'' bend, one ' a semitone · 6o overblow · -7o overdraw
`);
    expect(stderr).toBe(
      'remark: the tab gives no note lengths: every note counts as one beat\n' +
        'remark: the keynote was guessed from the notes; name it with --song-key\n' +
        'remark: no tempo is given: assuming 100 beats a minute\n',
    );
    const quiet = await reedtrace(['arrange', path('low.txt'), '--harp', 'D', '--quiet']);
    expect(quiet.stderr).toBe('');
  });

  it('names harps with the same tab once', async () => {
    const { stdout } = await reedtrace([
      'arrange',
      path('low.txt'),
      '--harp',
      'D',
      '--harps',
      'A,D',
      '--tunings',
      'richter',
      '--limit',
      '1',
    ]);
    expect(stdout).toMatch(/^1\. D harp/m);
    expect(stdout).toContain('the same tab on: A harp in A\n');
    expect(stdout.match(/4 -4 5 -5/g)).toHaveLength(1);
  });

  it('prints JSON as documented', async () => {
    const { stdout } = await reedtrace([
      'arrange',
      path('low.txt'),
      '--harp',
      'D',
      '--harps',
      'D',
      '--tunings',
      'richter',
      '--keep-key',
      '--json',
    ]);
    const document = JSON.parse(stdout);
    expect(document).toMatchObject({ format: 'reedtrace-arrange', version: 1 });
    const [best] = document.candidates;
    expect(best).toMatchObject({
      harp: { key: 'D', tuning: 'richter' },
      position: 1,
      octaveShift: 1,
      bends: 0,
      overbends: 0,
      hardest: [],
      unplayable: [],
    });
    expect(best.tab[0]).toEqual({ hole: 4, breath: 'blow', bend: 0, over: false, text: '4' });
    const low = document.candidates.find((c: { octaveShift: number }) => c.octaveShift === 0);
    expect(low.bends).toBe(2);
    expect(low.hardest[0]).toMatchObject({
      noteIndex: 5,
      why: expect.stringContaining('whole-tone draw bend on 3'),
    });
    expect(low.moved).toBe(0);
    expect(low.cost).toBe(document.played.cost);
    const sum = Object.values(low.costParts as Record<string, number>).reduce((a, b) => a + b, 0);
    expect(sum).toBeCloseTo(low.cost, 3);
  });

  it('reads the same tune from every format', async () => {
    const step = (midi: number) =>
      `<step>${'CCDDEFFGGAAB'[midi % 12]}</step><alter>${'010100101010'[midi % 12]}</alter>`;
    const xmlNotes = MIDIS.map(
      (midi) =>
        `<note><pitch>${step(midi)}<octave>${Math.floor(midi / 12) - 1}</octave></pitch><duration>1</duration></note>`,
    ).join('');
    await writeFile(
      path('d.musicxml'),
      `<score-partwise><part id="P1"><measure><attributes><divisions>1</divisions><key><fifths>2</fifths></key></attributes>${xmlNotes}</measure></part></score-partwise>`,
    );
    const track = [
      { type: 'keySignature', deltaTime: 0, key: 2, scale: 0, meta: true },
      ...MIDIS.flatMap((noteNumber) => [
        { type: 'noteOn', deltaTime: 0, channel: 0, noteNumber, velocity: 80 },
        { type: 'noteOff', deltaTime: 96, channel: 0, noteNumber, velocity: 0 },
      ]),
      { type: 'endOfTrack', deltaTime: 0, meta: true },
    ] as never;
    await writeFile(
      path('d.mid'),
      Uint8Array.from(writeMidi({ header: { format: 0, numTracks: 1, ticksPerBeat: 96 }, tracks: [track] })),
    );
    await writeFile(path('d.abc'), 'X:1\nL:1/4\nK:D\nDEFG|ABcd|\n');
    for (const name of ['d.musicxml', 'd.mid', 'd.abc']) {
      const { code, stdout, stderr } = await reedtrace([
        'arrange',
        path(name),
        '--harps',
        'D',
        '--tunings',
        'richter',
        '--keep-key',
        '--json',
        '--limit',
        '1',
      ]);
      expect([name, code, stderr.includes('guessed')]).toEqual([name, 0, false]);
      const document = JSON.parse(stdout);
      expect(document.played).toBeNull();
      expect(document.candidates[0].tab.map((n: { text: string }) => n.text).join(' ')).toBe(
        '4 -4 5 -5 6 -6 -7 7',
      );
    }
    const piped = await reedtrace(
      ['arrange', '-', '--harps', 'D', '--limit', '1'],
      'X:1\nL:1/4\nK:D\nDEFG|ABcd|\n',
    );
    expect(piped.stdout).toContain('4 -4 5 -5 6 -6 -7 7');
  });

  it('arranges a take note for note as it was meant', async () => {
    const take = buildTake(EXAMPLE_SOURCE, exampleFindings(["1 -1 2 -2'' -2", "-3'' -3 4"]));
    await writeFile(path('c.take.json'), formatTake(take));
    const { code, stdout } = await reedtrace([
      'arrange',
      path('c.take.json'),
      '--harps',
      'C,G',
      '--bends',
      'draw',
      '--json',
    ]);
    expect(code).toBe(0);
    const { played, candidates } = JSON.parse(stdout);
    // C major low on a C harp: two bends (common practice, no source); an octave up none [calculated]
    expect(played).toMatchObject({ bends: 2, harp: { key: 'C', tuning: 'richter' } });
    expect(candidates[0]).toMatchObject({
      bends: 0,
      octaveShift: 1,
      harp: { key: 'C', printed: 'C' },
      position: 1,
    });
    await writeFile(path('empty.take.json'), formatTake({ ...take, notes: [], phrases: [] }));
    expect((await reedtrace(['arrange', path('empty.take.json')])).code).toBe(4);
  });

  it("says which notes can't be played", async () => {
    const { stdout } = await reedtrace(
      [
        'arrange',
        '-',
        '--harps',
        'C',
        '--tunings',
        'richter',
        '--keep-key',
        '--keep-octave',
        '--bends',
        'none',
        '--song-key',
        'Cm',
      ],
      'X:1\nL:1/4\nK:C\nC ^D E F|\n',
    );
    expect(stdout).toContain('keynote C\n');
    expect(stdout).toContain('No result has every note of the tune; the best come first.');
    expect(stdout).toContain('not playable: Eb4 (line 1, note 2); F4 (line 1, last note)');
    expect(stdout).toMatch(/^ +1 \? 2 \?$/m);
    const none = await reedtrace(['arrange', '-', '--harps', 'C', '--bends', 'none'], 'X:1\nK:C\n^D,,,,\n');
    expect(none.stdout).toContain('None of these harps has even half the notes of this tune.');
  });

  it('draws the chart of the best harp', async () => {
    const { stdout } = await reedtrace(['arrange', path('low.txt'), '--harp', 'D', '--svg']);
    expect(XMLValidator.validate(stdout)).toBe(true);
    expect(stdout.match(/×1</g)).toHaveLength(8);
    expect(stdout).toContain('low.txt: D harp, Richter');
  });

  it("accepts the player's own tunings and weights", async () => {
    const blow = ['C4', 'E4', 'G4', 'C5', 'E5', 'G5', 'C6', 'E6', 'G6', 'C7'];
    const draw = ['D4', 'F4', 'B4', 'D5', 'F5', 'A5', 'B5', 'D6', 'F6', 'A6'];
    await writeFile(path('mine.json'), JSON.stringify({ name: 'mine', blow, draw }));
    await writeFile(
      path('weights.json'),
      JSON.stringify({ otherTuning: 0.125, moveHole: 0, turnBreath: 0, leapHole: 0 }),
    );
    const argv = ['arrange', path('low.txt'), '--harp', 'D', '--harps', 'D', '--keep-octave', '--keep-key'];
    const { stdout } = await reedtrace([
      ...argv,
      '--tunings',
      `richter,${path('mine.json')}`,
      '--weights',
      path('weights.json'),
      '--json',
    ]);
    const [best] = JSON.parse(stdout).candidates;
    expect(best).toMatchObject({ bends: 1, harp: { tuning: path('mine.json') } });
    const plain = await reedtrace([
      ...argv,
      '--tunings',
      'solo',
      '--weights',
      path('weights.json'),
      '--json',
    ]);
    expect(JSON.parse(plain.stdout).candidates[0].cost).toBe(0.125);
    await writeFile(path('weights.json'), JSON.stringify({ hardness: 1 }));
    expect((await reedtrace([...argv, '--weights', path('weights.json')])).stderr).toMatch(
      /no weight is called 'hardness'/,
    );
  });

  it.each([
    [['arrange', 'nowhere.abc'], 3, /'nowhere.abc' does not exist/],
    [['arrange', '.'], 3, /is a folder/],
    [['arrange', 'LOW'], 2, /does not name its harp; add `--harp C`/],
    [['arrange', 'LOW', '--harp', 'D', '--harps', 'C,,A'], 2, /is not a list/],
    [['arrange', 'LOW', '--harp', 'D', '--harps', 'X'], 2, /'X' is not a harp key/],
    [['arrange', 'LOW', '--harp', 'D', '--song-key', 'X'], 2, /not the key of a tune/],
    [
      ['arrange', 'LOW', '--harp', 'D', '--tuning', 'solo'],
      3,
      /D harp \(solo .*\) has no draw bend of 2 semitones on hole 2/,
    ],
    [['arrange', 'LOW', '--harp', 'D', '--limit', '0'], 2, /whole number/],
  ])('%j fails in one line', async (argv, expected, message) => {
    const { code, stdout, stderr } = await reedtrace(argv.map((a) => (a === 'LOW' ? path('low.txt') : a)));
    expect(code).toBe(expected);
    expect(stdout).toBe('');
    expect(stderr).toMatch(message);
    expect(stderr.trimEnd().split('\n')).toHaveLength(1);
  });
});

describe('reedtrace arrange --take', () => {
  it('writes a tab file as a take on the chosen harp, and says what changes', async () => {
    const out = path('easier.take.json');
    const argv = [
      'arrange',
      path('low.txt'),
      '--harp',
      'D',
      '--harps',
      'D',
      '--tunings',
      'richter',
      '--keep-key',
      '--take',
      '1',
      '--out',
      out,
    ];
    const done = await reedtrace(argv);
    expect(done).toMatchObject({ code: 0, stdout: `${out}\n` });
    expect(done.stderr).toContain('all notes change');
    const take = await readTake(out);
    // D major an octave up on a D harp has no bends: 4 -4 5 -5 6 -6 -7 7 (Richter layout).
    expect(take.notes.map((note) => formatTabNote(note))).toEqual('4 -4 5 -5 6 -6 -7 7'.split(' '));
    expect(take.phrases.map(({ firstNote, lastNote }) => [firstNote, lastNote])).toEqual([
      [0, 3],
      [4, 7],
    ]);
    expect((await reedtrace(argv)).code).toBe(5);
    expect((await reedtrace([...argv.slice(0, -3), '99', '--out', path('x.json')])).code).toBe(2);
  });

  it('keeps the words and times of a take, and its recording only if the same notes sound', async () => {
    const findings = exampleFindings(["-2 -3'' -3 4"]);
    const made = buildTake(EXAMPLE_SOURCE, findings);
    const words = [{ verse: 1, text: 'la', syllabic: 'single' as const, noteId: made.notes[1].id, holds: 0 }];
    await writeFile(path('low.take.json'), formatTake({ ...made, words }));
    const { code, stderr } = await reedtrace([
      'arrange',
      path('low.take.json'),
      '--harps',
      findings.harp.key,
      '--tunings',
      'raised-third',
      '--keep-key',
      '--keep-octave',
      '--take',
      '1',
    ]);
    expect(code).toBe(0);
    expect(stderr).toContain("-3'' becomes 3");
    expect(stderr).toContain('1 of 4 notes change, nothing else');
    const take = await readTake(path('low-1.take.json'));
    expect(take.words).toEqual(words);
    expect(take.source).toEqual(made.source);
    expect(take.notes.map(({ onsetSec }) => onsetSec)).toEqual(made.notes.map(({ onsetSec }) => onsetSec));
  });
});
