import { createHash } from 'node:crypto';
import {
  linkSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.ts';
import { formatTake } from '../../src/take/format.ts';
import type { Take } from '../../src/take/schema.ts';
import { strokesOf, takeOf } from '../check/student.ts';
import { captureIo } from './captured-io.ts';

const TUNE = "5 5 -5 6 6 -5 5 -4\n4 4 -3'' 5 5 -4 -4 4\n";
const RECORDING = 'what was recorded';
const SHA256 = createHash('sha256').update(RECORDING).digest('hex');
let dir: string;
const at = (...names: string[]): string => join(dir, ...names);

beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-inputs-'));
  mkdirSync(at('class'));
  mkdirSync(at('out'));
  const take = takeOf(strokesOf(TUNE.replace('\n', ' ')));
  const named = (file: string): Take => ({ ...take, source: { ...take.source, file, sha256: SHA256 } });
  writeFileSync(at('tune.txt'), TUNE);
  for (const name of ['ann', 'ben', 'class']) {
    writeFileSync(at('class', `${name}.wav`), RECORDING);
    writeFileSync(at('class', `${name}.take.json`), formatTake(named(`${name}.wav`)));
  }
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

async function reedtrace(...argv: string[]): Promise<{ code: number; stdout: string; stderr: string }> {
  const { io, texts } = captureIo();
  return { code: await run(argv, io), ...texts };
}

const CLASS = ['check', 'class', '--against', 'tune.txt', '--out', 'out'];
const WEEKS = [
  'check',
  'class/ann.take.json',
  'class/ben.take.json',
  '--against',
  'tune.txt',
  '--out',
  'out',
];
const BENDS = ['bends', 'class/ann.take.json', '--html', 'out/bends.html', '--force'];
const LESSON = ['lesson', 'class/ann.take.json', '--out', 'out', '--no-audio', '--force'];
const ARRANGE = ['arrange', 'class/ann.take.json', '--take', '1', '--out', 'out/easy.take.json', '--force'];
const inDir = (argv: readonly string[]): string[] =>
  argv.map((arg) => (/^(class|out|tune)([/.]|$)/.test(arg) ? at(arg) : arg));

describe('no command overwrites what it has read, by whatever path', () => {
  it.each([
    ['a page of a class', CLASS, 'class.html', 'class/ann.wav'],
    ['the table of a class', CLASS, 'class.csv', 'class/ben.take.json'],
    ['the table of a class', CLASS, 'class.json', 'tune.txt'],
    ['the picture of weeks', WEEKS, 'weeks.csv', 'class/ben.wav'],
    ['the page of weeks', WEEKS, 'weeks.html', 'class/ann.take.json'],
    ['a page of bends', BENDS, 'bends.html', 'class/ann.wav'],
    ['a lesson', LESSON, 'lesson.pdf', 'class/ann.wav'],
    ['an arranged take', ARRANGE, 'easy.take.json', 'class/ann.wav'],
  ] as const)('%s: %s, %s, a link to %s', async (_what, argv, name, input) => {
    for (const link of [symlinkSync, linkSync]) {
      rmSync(at('out', name), { force: true });
      link(at(input), at('out', name));
      const before = readFileSync(at(input), 'utf8');
      const { code, stderr } = await reedtrace(...inDir(argv));
      expect({ code, stderr }).toMatchObject({
        code: 5,
        stderr: expect.stringMatching(/^error: '[^\n]*' is (?:what|one of|the tune)/m),
      });
      expect(readFileSync(at(input), 'utf8')).toBe(before);
      // All or none.
      expect(readdirSync(at('out'))).toEqual([name]);
    }
  });

  it('a pupil called "class" gets a page, and so does the class', async () => {
    await reedtrace(...inDir(CLASS));
    expect(readdirSync(at('out')).sort()).toEqual(
      ['ann.html', 'ben.html', 'class (pupil).html', 'class.csv', 'class.html', 'class.json'].sort(),
    );
    expect(readFileSync(at('out', 'class.html'), 'utf8')).toContain('href="class%20(pupil).html"');
  });
});
