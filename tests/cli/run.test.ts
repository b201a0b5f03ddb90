import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { greeting } from '../../src/cli/greeting.ts';
import { run } from '../../src/cli/run.ts';
import { captureIo } from './captured-io.ts';

let dir: string;
beforeEach(async () => {
  dir = await mkdtemp(join(tmpdir(), 'reedtrace-run-'));
});
afterEach(() => rm(dir, { recursive: true, force: true }));

async function reedtrace(argv: readonly string[], setup: Parameters<typeof captureIo>[0] = {}) {
  const { io, texts } = captureIo({ reportDir: dir, ...setup });
  const code = await run(argv, io);
  return { code, stdout: texts.stdout, stderr: texts.stderr };
}

describe('reedtrace', () => {
  it('prints the version of the package', async () => {
    const { version } = JSON.parse(await readFile(new URL('../../package.json', import.meta.url), 'utf8'));
    expect(await reedtrace(['--version'])).toEqual({ code: 0, stdout: `${version}\n`, stderr: '' });
  });

  it('without a command greets and says what to do next', async () => {
    const held = await reedtrace([]);
    expect(held).toMatchObject({ code: 0, stderr: '' });
    expect(held.stdout).toContain('reedtrace transcribe take.wav --harp C');
    expect(held.stdout).toMatch(/reedtrace transcribe \S*samples\/old-joe-clark\.wav/);
    expect(held.stdout).toContain('reedtrace doctor');
  });

  it('greets with the files in the folder', async () => {
    for (const name of ["it's mine.mp3", '-x.wav', 'b.take.json', '.hidden.wav'])
      await writeFile(join(dir, name), '');
    const said = await greeting(dir);
    expect(said).toContain('reedtrace transcribe ./-x.wav --harp C');
    expect(said).toContain('reedtrace correct b.take.json');
    await rm(join(dir, '-x.wav'));
    expect(await greeting(dir)).toContain(`reedtrace transcribe 'it'\\''s mine.mp3' --harp C`);
  });

  it.each([
    [['trascribe', 'x.wav'], "unknown command 'trascribe'; did you mean transcribe? see `reedtrace --help`"],
    [['transcribe'], "missing required argument 'audio'; see `reedtrace transcribe --help`"],
    [
      ['transcribe', 'x.wav', '--hrap', 'C'],
      "unknown option '--hrap'; did you mean --harp? see `reedtrace transcribe --help`",
    ],
    [
      ['transcribe', 'x.wav', '--a4', '44'],
      "option '--a4 <hz>' argument '44' is invalid. Give 400 to 480 Hz; see `reedtrace transcribe --help`",
    ],
    [
      ['transcribe', 'x.wav', '--harp', 'H'],
      '\'H\' is not a harp key; use one of G, Ab, A, Bb, B, C, Db, D, Eb, E, F, F#, or one of them with low or high before it, such as "low F"',
    ],
  ])('%j is wrong usage', async (argv, line) => {
    expect(await reedtrace(argv)).toEqual({ code: 2, stdout: '', stderr: `error: ${line}\n` });
  });

  it.each([['--tab-style'], ['--style']])('lists the values of %s', async (option) => {
    const held = await reedtrace(['transcribe', 'x.wav', option, 'dots']);
    expect(held.code).toBe(2);
    expect(held.stderr).toContain(
      'Allowed choices are signs, letters, arrows; see `reedtrace transcribe --help`\n',
    );
  });

  it('shows control characters in a file name instead of sending them', async () => {
    const held = await reedtrace(['transcribe', 'a\u001b[2J\nb.wav']);
    expect(held).toMatchObject({ code: 3, stdout: '' });
    expect(held.stderr).toMatch(/^error: [^\n]*a\\x1b\[2J\\x0ab\.wav[^\n]*\n$/);
  });

  it('ends with 130 when it is interrupted', async () => {
    await writeFile(join(dir, 'a.wav'), 'RIFF');
    const held = await reedtrace(['transcribe', join(dir, 'a.wav')], { signal: AbortSignal.abort() });
    expect(held).toEqual({
      code: 130,
      stdout: '',
      stderr: 'error: stopped by Ctrl-C; nothing was left half-written\n',
    });
    expect(await readdir(dir)).toEqual(['a.wav']);
  });

  it('reports an internal error in one line, with the stack only for --debug', async () => {
    const failing = () => {
      const { io, texts } = captureIo({ reportDir: dir });
      return {
        texts,
        io: {
          ...io,
          stdout: {
            write: () => {
              throw new RangeError('out of paper');
            },
          },
        },
      };
    };
    const plain = failing();
    expect(await run(['harp', 'C'], plain.io)).toBe(70);
    expect(plain.texts.stderr).toMatch(
      /^error: internal error \(out of paper\); the report is in \S+reedtrace-fault-\S+\.txt\n$/,
    );
    const path = /the report is in (\S+)/.exec(plain.texts.stderr)?.[1] ?? '';
    expect(await readFile(path, 'utf8')).toContain(
      'arguments: ["harp","C"]\n\nRangeError: out of paper\n    at ',
    );
    const debug = failing();
    expect(await run(['harp', 'C', '--debug'], debug.io)).toBe(70);
    expect(debug.texts.stderr).toContain('\nRangeError: out of paper\n    at ');
  });

  it("says so if even the report can't be saved", async () => {
    const { io, texts } = captureIo({ reportDir: join(dir, 'missing') });
    const stdout = {
      write: () => {
        throw new Error('x');
      },
    };
    expect(await run(['harp', 'C'], { ...io, stdout })).toBe(70);
    expect(texts.stderr).toBe(
      `error: internal error (x); no report could be saved in ${join(dir, 'missing')}\n`,
    );
  });
});

describe('help', () => {
  it('of the program lists the commands', async () => {
    const held = await reedtrace(['--help']);
    expect(held).toMatchObject({ code: 0, stderr: '' });
    expect(held.stdout).toMatch(/\n {2}transcribe \[options\] <audio\.\.\.> {2}\S/);
    expect(held.stdout.split('\nExamples:\n')[1]?.match(/^ {2}\$ reedtrace /gm)).toHaveLength(2);
  });

  it('of transcribe is unchanged', async () => {
    const held = await reedtrace(['transcribe', '--help']);
    expect(held).toMatchObject({ code: 0, stderr: '' });
    await expect(held.stdout).toMatchFileSnapshot('../golden/help-transcribe.txt');
  });

  it('of every command ends with two examples and fits 80 columns', async () => {
    const names = [...(await reedtrace(['--help'])).stdout.matchAll(/^ {2}([a-z]+) .*(?:\[|<)/gm)].map(
      ([, n]) => n,
    );
    expect(names).toContain('transcribe');
    for (const name of names.filter((name) => name !== 'help')) {
      const { stdout } = await reedtrace([name, '--help']);
      expect(stdout.split('\nExamples:\n')[1]?.match(/^ {2}\$ reedtrace /gm), name).toHaveLength(2);
      const widest = Math.max(...stdout.split('\n').map((line) => line.length));
      expect(widest, name).toBeLessThanOrEqual(80);
    }
  });
});
