import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, win32 } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { expandPattern } from '../../src/cli/files/glob.ts';
import { chooseDestination } from '../../src/cli/files/take-path.ts';
import { run } from '../../src/cli/run.ts';
import { formatTake } from '../../src/take/format.ts';
import { AMAZING_GRACE, playTune } from '../export/tunes.ts';
import { captureIo } from './captured-io.ts';

/** Files as editors and shells of Windows, macOS and older computers write them. */

let dir: string;
const at = (name: string): string => join(dir, name);
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-systems-'));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

const utf16 = (text: string): Buffer => Buffer.from(`\uFEFF${text}`, 'utf16le');
const WAYS: readonly (readonly [name: string, (text: string) => Buffer])[] = [
  ['UTF-8 with its mark and CRLF (Notepad)', (text) => Buffer.from(`\uFEFF${text.replaceAll('\n', '\r\n')}`)],
  ['UTF-16 and CRLF (redirected in PowerShell 5)', (text) => utf16(text.replaceAll('\n', '\r\n'))],
  ['UTF-16, big end first', (text) => utf16(text).swap16()],
];

const TAKE = formatTake(playTune('amazing-grace').take);
const FILES: Readonly<Record<string, string>> = {
  'tune.take.json': TAKE,
  'words.txt': AMAZING_GRACE,
  'scale.txt': "4 -4 5 -5\n-3'' 6 -6\n",
  'tune.abc': 'X:1\nT:Tune\nM:3/4\nL:1/4\nK:C\nC D E|F G A|\nw:one two three four five six\n',
  'weights.json': '{ "blowBend1": 2 }',
  'own.json':
    '{ "name": "mine", "blow": ["C4","E4","G4","C5","E5","G5","C6","E6","G6","C7"], "draw": ["D4","G4","B4","D5","F5","A5","B5","D6","F6","A6"] }',
};

async function said(argv: readonly string[]): Promise<string> {
  const { io, texts } = captureIo();
  const code = await run(
    argv.map((arg) => (arg in FILES ? at(arg) : arg)),
    io,
  );
  const written = existsSync(at('tune.txt')) ? readFileSync(at('tune.txt'), 'utf8') : '';
  return `${code}\n${texts.stderr}\n${texts.stdout}${written}`.replaceAll(dir, '');
}

describe.each(WAYS)('%s', (_name, written) => {
  it.each([
    ['a take', ['check', 'tune.take.json', '--against', 'tune.take.json']],
    ['words', ['export', 'tune.take.json', '--words', 'words.txt', '--no-save', '--force']],
    ['tab', ['arrange', 'scale.txt', '--harp', 'C']],
    ['ABC, and weights', ['arrange', 'tune.abc', '--weights', 'weights.json']],
    ['a tuning', ['harp', 'C', '--tuning', 'own.json']],
  ])('%s reads the same', async (_what, argv) => {
    for (const [name, text] of Object.entries(FILES)) writeFileSync(at(name), text);
    const plain = await said(argv);
    expect(plain).toMatch(/^0\n/);
    for (const [name, text] of Object.entries(FILES)) writeFileSync(at(name), written(text));
    expect(await said(argv)).toBe(plain);
  });
});

it('words in Windows-1252 keep their letters', async () => {
  writeFileSync(at('tune.take.json'), TAKE);
  writeFileSync(at('words.txt'), Buffer.from('f\xfcr dich, caf\xe9 \x93so\x94\n', 'latin1'));
  const text = await said(['export', 'tune.take.json', '--words', 'words.txt', '--no-save', '--force']);
  expect(text).toContain('für');
  expect(text).toMatch(/café|caf.*é/);
});

describe('Windows paths', () => {
  it('end in a backslash if they mean a folder', async () => {
    const options = { save: true, json: false };
    for (const out of ['takes\\', 'C:\\takes\\', 'takes/'])
      expect(await chooseDestination({ ...options, out }, false)).toMatchObject({ kind: 'folder' });
    expect(await chooseDestination({ ...options, out: 'C:\\takes\\a.take.json' }, false)).toMatchObject({
      kind: 'file',
    });
  });

  it('may be patterns, which no shell there expands', async () => {
    mkdirSync(at('lessons'));
    for (const name of ['one.wav', 'two.wav', 'three.mp3']) writeFileSync(at(`lessons/${name}`), '');
    const pattern = `${dir}\\lessons\\*.wav`;
    expect((await expandPattern(pattern)).sort()).toEqual(
      ['one.wav', 'two.wav'].map((name) => join(dir, 'lessons', name)),
    );
    // The name of a take comes from a path by the rules of the system, which there take both strokes.
    expect(win32.basename('C:\\Lessons/two.wav')).toBe('two.wav');
  });
});
