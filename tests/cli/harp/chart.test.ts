import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { XMLValidator } from 'fast-xml-parser';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../../../src/cli/run.ts';

async function reedtrace(...argv: string[]) {
  let stdout = '';
  let stderr = '';
  const code = await run(argv, {
    stdout: { write: (text) => (stdout += text) },
    stderr: { write: (text) => (stderr += text) },
    stdin: Readable.from([]),
    env: {},
    signal: new AbortController().signal,
    reportDir: tmpdir(),
  });
  return { code, stdout, stderr };
}

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'reedtrace-'));
});
afterAll(() => rm(folder, { recursive: true }));

describe('reedtrace harp', () => {
  it('prints the chart of a C harp', async () => {
    // Notes of a C harp with bends and overbends: https://oeis.org/A291810 and the rule of JASA 103(4), 2134-2144
    expect(await reedtrace('harp', 'C')).toEqual({
      code: 0,
      stderr: '',
      stdout: `C harp, Richter (hole-1 blow C)
notes, 1st position (straight), keynote C
A4 = 440 Hz, equal temperament

overblow   Eb4    Ab4     C5    Eb5    F#5    Bb5
bend 2                                                                    Bb6
bend 1                                                      Eb6    F#6     B6
blow        C4     E4     G4     C5     E5     G5     C6     E6     G6     C7
hole       [1]    [2]    [3]    [4]    [5]    [6]    [7]    [8]    [9]    [10]
draw        D4     G4     B4     D5     F5     A5     B5     D6     F6     A6
bend 1     Db4    F#4    Bb4    Db5           Ab5
bend 2             F4     A4
bend 3                   Ab4
overdraw                                             Db6     F6    Ab6    Db7
`,
    });
  });

  it.each([
    ['notes', 'high F#', 'richter'],
    ['degrees', 'Db', 'circular'],
    ['hz', 'high F#', 'harmonic-minor'],
    ['hz', 'low G', 'solo'],
  ])('fits 80 columns: %s of %s %s', async (show, key, tuning) => {
    const { stdout, code } = await reedtrace('harp', key, '--tuning', tuning, '--show', show);
    expect(code).toBe(0);
    for (const line of stdout.split('\n')) expect(line.length).toBeLessThan(80);
    // No two cells run into each other: as many cells as there are notes
    const chart = stdout.split('\n\n')[1];
    const cells = chart.split('\n').flatMap((line) => line.slice(9).split(/ +/).filter(Boolean));
    const { stdout: json } = await reedtrace('harp', key, '--tuning', tuning, '--json');
    expect(cells).toHaveLength(JSON.parse(json).notes.length + 10);
  });

  it('shows degrees in a position and both labels', async () => {
    const { stdout } = await reedtrace(
      'harp',
      'G',
      '--tuning',
      'natural-minor',
      '--printed',
      '--position',
      'cross',
      '--show',
      'degrees',
    );
    expect(stdout).toContain('C harp, natural minor (hole-1 blow C, printed G minor)');
    expect(stdout).toContain('scale degrees, 2nd position (cross), keynote G');
    // G minor from 6 blow: 1 2 b3 4 5 b6 b7 [calculated]
    expect(stdout).toMatch(/^blow +4 +b6 +1 +4 +b6 +1 +4 +b6 +1 +4$/m);
    expect(stdout).toMatch(/^draw +5 +1 +b3 +5 +b7 +2 +b3 +5 +b7 +2$/m);
  });

  it('prints JSON with temperament and A4', async () => {
    const { stdout } = await reedtrace('harp', 'C', '--json', '--temperament', 'just', '--a4', '443');
    const document = JSON.parse(stdout);
    expect(document).toMatchObject({ format: 'reedtrace-harp', version: 1, tonic: 'C', position: 1 });
    expect(document.notes).toHaveLength(42);
    const fiveDraw = document.notes.find(
      (n: { hole: number; breath: string }) => n.hole === 5 && n.breath === 'draw',
    );
    // 21/16 above C5, which is 2 * 263.409 Hz at A4 = 443 [calculated]
    expect(fiveDraw).toEqual({
      hole: 5,
      breath: 'draw',
      bend: 0,
      over: false,
      midi: 77,
      name: 'F5',
      hz: expect.closeTo((21 / 16) * 2 * 263.409, 1),
      degree: '4',
    });
  });

  it('draws well-formed SVG', async () => {
    const { stdout } = await reedtrace('harp', 'Bb', '--svg', '--show', 'degrees');
    expect(XMLValidator.validate(stdout)).toBe(true);
    expect(stdout.match(/<g[ >]/g)).toHaveLength(52);
    expect(stdout).toContain('Bb harp, Richter');
  });

  it('reads a custom tuning and temperament, and names the hole that is wrong', async () => {
    const tuning = join(folder, 'mine.json');
    const blow = ['G3', 'B3', 'D4', 'G4', 'B4', 'D5', 'G5', 'B5', 'D6', 'G6'];
    const draw = ['A3', 'D4', 'F#4', 'A4', 'C5', 'E5', 'F#5', 'A5', 'C6', 'E6'];
    await writeFile(tuning, JSON.stringify({ name: 'my <own>', blow, draw }));
    const own = await reedtrace('harp', '--tuning', tuning);
    expect(own.stdout).toContain('G harp, my <own> (hole-1 blow G)');
    expect(own.stdout).toMatch(/^draw +A3 +D4 +F#4/m);
    const svg = await reedtrace('harp', '--tuning', tuning, '--svg');
    expect(XMLValidator.validate(svg.stdout)).toBe(true);
    await writeFile(tuning, JSON.stringify({ blow, draw: draw.with(6, 'G5') }));
    const wrong = await reedtrace('harp', '--tuning', tuning);
    expect(wrong).toMatchObject({ code: 2, stdout: '' });
    expect(wrong.stderr).toMatch(/^error: hole 7 gives the same note G5 for blow and draw; .*\n$/);
    const cents = join(folder, 'cents.json');
    await writeFile(
      cents,
      JSON.stringify({ blow: [100, ...new Array(9).fill(0)], draw: new Array(10).fill(0) }),
    );
    expect((await reedtrace('harp', 'C', '--temperament', cents)).stderr).toContain('hole 1 blow: 100 ');
  });

  it.each([
    [['harp', 'H'], /^error: 'H' is not a harp key; use one of G, Ab/],
    [['harp', 'C', '--tuning', 'x'], /^error: no tuning is called 'x'/],
    [['harp', 'C', '--position', '13'], /^error: '13' is not a position/],
    [['harp', 'C', '--json', '--svg'], /cannot be used with/],
    [['harp', 'C', '--a4', '30'], /400/],
  ])('%j is wrong usage', async (argv, message) => {
    const { code, stdout, stderr } = await reedtrace(...argv);
    expect(code).toBe(2);
    expect(stdout).toBe('');
    expect(stderr).toMatch(message);
  });
});
