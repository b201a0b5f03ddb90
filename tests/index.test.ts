import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const at = (path: string) => fileURLToPath(new URL(`../${path}`, import.meta.url));
const example = (...args: string[]) =>
  spawnSync(process.execPath, [at('samples/library.mjs'), ...args], { encoding: 'utf8' });

/** What the sample was made from (samples/make.ts), so nothing that the program heard. */
const truth = JSON.parse(readFileSync(at('samples/old-joe-clark.truth.json'), 'utf8')) as {
  notes: { onsetSec: number; hole: number; breath: string; bend: number }[];
};

it('the library example prints the notes that were played, and ABC', () => {
  const held = example(at('samples/old-joe-clark.wav'), 'D');
  expect({ code: held.status, stderr: held.stderr }).toEqual({ code: 0, stderr: '' });
  const found = [...held.stdout.matchAll(/^(\d+\.\d\d) s {2}(-?\d+'*) {2}\d+ % sure$/gm)];
  const right = truth.notes.filter(({ onsetSec, hole, breath, bend }) =>
    found.some(
      ([, sec, tab]) =>
        Math.abs(Number(sec) - onsetSec) <= 0.055 &&
        tab === `${breath === 'draw' ? '-' : ''}${hole}${"'".repeat(bend)}`,
    ),
  );
  expect(right.length / truth.notes.length).toBeGreaterThan(0.9);
  expect(held.stdout).toMatch(/^X:1$/m);
});

it('the example passes an expected failure on with its exit code', () => {
  const held = example('no-such.wav');
  expect(held.status).toBe(3);
  expect(held.stderr).toMatch(/^'no-such.wav' does not exist/);
});

it('its types work in a strict program and reject mistakes', () => {
  const dir = mkdtempSync(join(tmpdir(), 'reedtrace-types-'));
  try {
    const uses = `import { buildScore, buildTake, encodeMp3, FORMATS, formatTabNote, type Note, type PageSound, pitchContours, readRecording, transcribe, type Transcription } from '${at('dist/index.js')}';
const { samples, source } = await readRecording('x.wav', { onProgress: (fraction: number) => void fraction });
const found: Transcription = await transcribe(samples, { harp: 'Bb', a4Hz: 442 });
export const line: string[] = found.notes.map((note: Note) => formatTabNote(note, 'letters'));
const sound: PageSound = { ...(await encodeMp3(samples)), contours: pitchContours(samples, found.notes) };
const options = { style: 'signs', columns: 80, lengths: false, asPlayed: false, sound } as const;
export const page: string = await FORMATS.html.write(buildScore(buildTake(source, found), 'x'), options);
`;
    writeFileSync(join(dir, 'use.mts'), uses);
    writeFileSync(join(dir, 'wrong.mts'), `${uses}export const no: number = found.notes[0].start;\n`);
    const options = ['--noEmit', '--strict', '--module', 'nodenext', '--target', 'es2022', '--skipLibCheck'];
    const types = ['--types', 'node', '--typeRoots', at('node_modules/@types')];
    const tsc = at('node_modules/typescript/bin/tsc');
    const { stdout } = spawnSync(process.execPath, [tsc, ...options, ...types, 'use.mts', 'wrong.mts'], {
      cwd: dir,
      encoding: 'utf8',
    });
    expect(stdout.match(/^\S+: error TS\d+/gm)).toEqual([
      expect.stringMatching(/^wrong\.mts\(\d+,\d+\): error TS2322/),
    ]);
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
});
