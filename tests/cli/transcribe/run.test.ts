import { createHash } from 'node:crypto';
import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { Samples } from '../../../src/audio/samples.ts';
import { parseShard } from '../../../src/cli/files/shard.ts';
import { type Engine, hear } from '../../../src/cli/hear/hear.ts';
import type { TranscribeOptions } from '../../../src/cli/transcribe/one-recording.ts';
import { type Ears, transcribeFiles } from '../../../src/cli/transcribe/run.ts';
import { ReedtraceError } from '../../../src/errors.ts';
import { parseTab } from '../../../src/tab/text-file.ts';
import { openEdits, undo } from '../../../src/take/edits/edits.ts';
import { readTake } from '../../../src/take/files/store.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../../take/example.ts';
import { captureIo } from '../captured-io.ts';

// The command is tested on its own here: what a file "holds" is what its text says.
const engine: Engine = {
  stages: ['pitch'],
  async readRecording(path, options) {
    const text = path === '-' ? 'well' : await readFile(path, 'utf8');
    if (text === 'damaged')
      throw new ReedtraceError('E_DAMAGED_AUDIO', `'${basename(path)}' breaks off`, 'copy it again');
    options?.onProgress?.(1);
    const samples = Samples.from(new Float32Array([text === 'silence' ? 0 : text === 'bug' ? 2 : 1]), 8000);
    const remarks = text === 'short' ? ['ends early, at 0:12'] : [];
    return {
      samples,
      source: { ...EXAMPLE_SOURCE, file: path === '-' ? 'standard input' : basename(path) },
      remarks,
    };
  },
  async transcribe(samples, options) {
    const first = new Float32Array(1);
    samples.read(0, first);
    if (first[0] === 0) throw new ReedtraceError('E_NOTHING_PLAYED', 'it holds silence', 'record closer');
    if (first[0] === 2) throw new TypeError('x is not a function');
    options.onProgress?.('pitch', 0.5);
    const findings = exampleFindings(['4 -4 5']);
    return { ...findings, harp: { ...findings.harp, key: options.harp ?? 'C' }, remarks: [] };
  },
};

const NOTHING_SAID = { beats: {}, words: null };

let dir: string;
beforeEach(async () => {
  dir = await mkdtemp(join(tmpdir(), 'reedtrace-cli-'));
});
afterEach(() => rm(dir, { recursive: true, force: true }));

async function transcribe(
  files: Record<string, string>,
  names: readonly string[],
  options: Partial<TranscribeOptions> = {},
  setup: Parameters<typeof captureIo>[0] = {},
  ears: Ears = { engine },
) {
  for (const [name, text] of Object.entries(files)) {
    await mkdir(join(dir, name, '..'), { recursive: true });
    await writeFile(join(dir, name), text);
  }
  const { io, texts } = captureIo({ reportDir: dir, ...setup });
  const all = {
    harp: {},
    music: NOTHING_SAID,
    style: 'signs',
    save: true,
    force: false,
    json: false,
    quiet: false,
    debug: false,
  } as const;
  const paths = names.map((name) => (name === '-' ? '-' : join(dir, name)));
  const code = await transcribeFiles(paths, { ...all, ...options }, io, ears).catch((error: unknown) => {
    if (error instanceof ReedtraceError) return error;
    throw error;
  });
  const clean = (text: string) => text.replaceAll(dir, 'DIR');
  return { code, stdout: clean(texts.stdout), stderr: clean(texts.stderr) };
}

const sheetOf = (file: string, key = 'C') => `\
${file}: ${key} harp, richter tuning, equal temperament, A4 = 440 Hz
4 blow · -4 draw · -3'' bend, one ' a semitone · 6o overblow · -7o overdraw

[0:00]  4  -4  5

3 notes in 1 phrase, 96 % sure on average; none doubtful.
`;

describe('transcribe', () => {
  it('prints the tab, saves the take next to the recording and says so', async () => {
    expect(await transcribe({ 'take.wav': 'well' }, ['take.wav'], { harp: { harp: 'Bb' } })).toEqual({
      code: 0,
      stdout: sheetOf('take.wav', 'Bb'),
      stderr: "saved 'DIR/take.take.json' (3 kB)\n",
    });
    expect((await readTake(join(dir, 'take.take.json'))).harp.key).toBe('Bb');
    expect(await readFile(join(dir, 'take.wav'), 'utf8')).toBe('well');
  });

  it('lays words under the notes of the tab and keeps them in the take, with tempo and metre', async () => {
    const music = {
      beats: { tempoBpm: 100, metre: { count: 3, unit: 4 } },
      words: { text: 'Good morn-ing to you\n\n1 2 3', language: null, remark: 'words split as English' },
    };
    const held = await transcribe({ 'take.wav': 'well' }, ['take.wav'], { music });
    expect(held.stdout).toContain(`
[0:00]  4     -4     5
        Good  morn-  ing
#       1     2      3

Words without a note:
1. to you

`);
    expect(held.stderr).toBe(`\
remark: words split as English
remark: take.wav: verse 1, line 1: no note was left for 'to', 'you' (join words with ~, or split fewer)
saved 'DIR/take.take.json' (4 kB)
`);
    const take = await readTake(join(dir, 'take.take.json'));
    expect(take.words.map(({ text }) => text)).toEqual(['Good', 'morn', 'ing', 'to', 'you', '1', '2', '3']);
    expect(take.beats).toMatchObject({ given: music.beats, metre: music.beats.metre });
    expect(take.edits).toEqual([]);
    // Such a sheet reads back as tab: the second verse is no second line.
    expect(parseTab(held.stdout).phrases.map((items) => items.length)).toEqual([3]);
    const json = await transcribe({}, ['take.wav'], { music, json: true, save: false });
    expect(JSON.parse(json.stdout).words).toEqual(take.words);
  });

  it('refuses to replace a take before any work is done', async () => {
    expect(await transcribe({ 'take.wav': 'well', 'take.take.json': 'mine' }, ['take.wav'])).toEqual({
      code: 5,
      stdout: '',
      stderr:
        "error: 'DIR/take.take.json' already exists; `reedtrace correct` corrects notes and harp, `reedtrace export --words` adds words; `--force` transcribes again without your corrections, `--out` saves elsewhere, `--no-save` only prints\n",
    });
    expect(await readFile(join(dir, 'take.take.json'), 'utf8')).toBe('mine');
    expect((await transcribe({}, ['take.wav'], { force: true })).code).toBe(0);
    expect((await readTake(join(dir, 'take.take.json'))).notes).toHaveLength(3);
  });

  it('with --no-save writes nothing, and with --quiet prints nothing but the tab', async () => {
    const held = await transcribe({ 'take.wav': 'short' }, ['take.wav'], { save: false, quiet: true });
    expect(held).toEqual({ code: 0, stdout: sheetOf('take.wav'), stderr: '' });
    expect(await readdir(dir)).toEqual(['take.wav']);
  });

  it('prints remarks about the recording', async () => {
    const { stderr } = await transcribe({ 'take.wav': 'short' }, ['take.wav'], { save: false });
    expect(stderr).toBe('remark: take.wav: ends early, at 0:12\n');
  });

  it('tries all recordings, lists those that failed, and returns the highest code', async () => {
    const files = { 'a/1.wav': 'silence', 'a/2.mp3': 'damaged', 'a/10.flac': 'well', 'a/notes.txt': 'words' };
    const held = await transcribe(files, ['a'], {});
    expect(held).toEqual({
      code: 4,
      stdout: sheetOf('10.flac'),
      stderr: `\
error: '1.wav': it holds silence; record closer
error: '2.mp3' breaks off; copy it again
saved 'DIR/a/10.take.json' (3 kB)
1 of 3 recordings transcribed; failed: DIR/a/1.wav, DIR/a/2.mp3
`,
    });
    expect((await readdir(join(dir, 'a'))).sort()).toEqual([
      '1.wav',
      '10.flac',
      '10.take.json',
      '2.mp3',
      'notes.txt',
    ]);
  });

  it('transcribes a recording named twice only once, and separates sheets by an empty line', async () => {
    const files = { 'a.wav': 'well', 'b.wav': 'well' };
    const held = await transcribe(files, ['b.wav', 'a.wav', 'b.wav'], { save: false });
    expect(held.stdout).toBe(`${sheetOf('b.wav')}\n${sheetOf('a.wav')}`);
    expect(held.stderr).toBe('2 of 2 recordings transcribed\n');
  });

  /** A pool whose recordings end in the order told, whatever order they were begun in. */
  const poolEnding = (order: readonly string[]): { ears: Ears; begun: string[] } => {
    const begun: string[] = [];
    const gates = new Map(
      order.map((name) => {
        let resolve = () => {};
        const promise = new Promise<void>((done) => {
          resolve = done;
        });
        return [name, { promise, resolve }] as const;
      }),
    );
    let next = 0;
    const open = () => gates.get(order[next++])?.resolve();
    const openPool = () => ({
      async hear(path: string) {
        begun.push(basename(path));
        if (begun.length === order.length) open();
        await gates.get(basename(path))?.promise;
        setImmediate(open);
        const silent = () => {};
        return hear(engine, path, {}, new AbortController().signal, silent);
      },
      close: async () => {},
    });
    return { ears: { engine, openPool, ahead: 8 }, begun };
  };

  it('with several in progress prints in the order of the names, whichever ends first', async () => {
    const files = { 'a/1.wav': 'well', 'a/2.wav': 'damaged', 'a/3.wav': 'well' };
    const { ears, begun } = poolEnding(['3.wav', '2.wav', '1.wav']);
    const held = await transcribe(files, ['a'], {}, {}, ears);
    // All are under way at once; which gets there first is up to the file system.
    expect(begun.toSorted()).toEqual(['1.wav', '2.wav', '3.wav']);
    expect(held).toEqual({
      code: 3,
      stdout: `${sheetOf('1.wav')}\n${sheetOf('3.wav')}`,
      stderr: `\
saved 'DIR/a/1.take.json' (3 kB)
error: '2.wav' breaks off; copy it again
saved 'DIR/a/3.take.json' (3 kB)
2 of 3 recordings transcribed; failed: DIR/a/2.wav
`,
    });
  });

  it("with several in progress lets no take replace another's", async () => {
    const { ears } = poolEnding(['t.mp3', 't.wav']);
    const held = await transcribe({ 'x/t.wav': 'well', 'x/t.mp3': 'well' }, ['x'], { force: true }, {}, ears);
    expect(held.code).toBe(5);
    expect(held.stderr).toContain("would both be saved as 'DIR/x/t.take.json'; ");
  });

  it('transcribes only new or changed recordings of a folder, unless forced', async () => {
    // The SHA-256 of what the file holds, so that the take fits it.
    const sha256 = (text: string) => createHash('sha256').update(text).digest('hex');
    const hashing: Engine = {
      ...engine,
      async readRecording(path, options) {
        const { source, ...rest } = await engine.readRecording(path, options);
        return { ...rest, source: { ...source, sha256: sha256(await readFile(path, 'utf8')) } };
      },
    };
    const again = (options: Partial<TranscribeOptions> = {}, files = {}) =>
      transcribe(files, ['a'], options, {}, { engine: hashing });
    await again({}, { 'a/1.wav': 'well', 'a/2.wav': 'short' });
    const kept = await readFile(join(dir, 'a/1.take.json'), 'utf8');
    await writeFile(join(dir, 'a/1.take.json'), kept.replace('"confidence": 0.96', '"confidence": 0.5'));
    const corrected = await readFile(join(dir, 'a/1.take.json'), 'utf8');
    const held = await again({}, { 'a/2.wav': 'well', 'a/3.wav': 'well' });
    expect(held.code).toBe(5);
    expect(held.stderr).toBe(`\
unchanged 'DIR/a/1.take.json': it was made from this same recording (same SHA-256)
error: 'DIR/a/2.take.json' already exists; \`reedtrace correct\` corrects notes and harp, \`reedtrace export --words\` adds words; \`--force\` transcribes again without your corrections, \`--out\` saves elsewhere, \`--no-save\` only prints
saved 'DIR/a/3.take.json' (3 kB)
1 of 3 recordings transcribed; 1 unchanged since their takes were made (\`--force\` redoes them); failed: DIR/a/2.wav
`);
    // The tab is that of the take as it is, corrections included.
    expect(held.stdout).toContain('about 1 may be wrong');
    expect(await readFile(join(dir, 'a/1.take.json'), 'utf8')).toBe(corrected);
    // Words go into it all the same, as a change that can be undone.
    const words = { text: 'Hel-lo you', language: null, remark: null };
    const sung = await again({ music: { beats: { tempoBpm: 80 }, words } });
    expect(sung.stdout).toContain('  Hel-  lo  you');
    expect(sung.stderr).toContain(
      'remark: 1.wav: tempo and bars as you said and the words are kept in the take, for later commands too\n',
    );
    const set = await readTake(join(dir, 'a/1.take.json'));
    expect(set.edits.map(({ what }) => what)).toEqual(['beats', 'words']);
    let state = openEdits(set);
    for (const at of ['2026-01-01T00:00:00Z', '2026-01-02T00:00:00Z']) state = undo(state, { at })!.state;
    expect({ ...state.take, edits: [] }).toEqual(JSON.parse(corrected));
    // On another harp it is transcribed again.
    expect((await again({ harp: { harp: 'Bb' } })).stderr).not.toContain('unchanged');
    expect((await again({ force: true })).stderr).toContain('3 of 3 recordings transcribed\n');
    expect(await readFile(join(dir, 'a/1.take.json'), 'utf8')).toBe(kept);
  });

  it('continues with many recordings where it was stopped', async () => {
    const sha256 = createHash('sha256').update('well').digest('hex');
    const interruption = new AbortController();
    let heard = 0;
    const counting: Engine = {
      ...engine,
      async readRecording(path, options) {
        if (++heard === 12) interruption.abort();
        const { source, ...rest } = await engine.readRecording(path, options);
        return { ...rest, source: { ...source, sha256 } };
      },
    };
    const names = Array.from({ length: 30 }, (_, i) => `many/${i}.wav`);
    const files = Object.fromEntries(names.map((name) => [name, 'well']));
    const setup = { signal: interruption.signal };
    const first = await transcribe(files, ['many'], {}, setup, { engine: counting });
    expect(first.code).toMatchObject({ code: 'E_INTERRUPTED' });
    const done = (await readdir(join(dir, 'many'))).filter((name) => name.endsWith('.take.json')).length;
    expect(done).toBe(12);
    const second = await transcribe({}, ['many'], {}, {}, { engine: counting });
    expect(second.code).toBe(0);
    expect(second.stderr).toContain(
      '18 of 30 recordings transcribed; 12 unchanged since their takes were made',
    );
    expect(heard).toBe(30);
  });

  it('divides recordings so that each is in exactly one share, whatever the folder', async () => {
    const names = Array.from({ length: 20 }, (_, i) => `s/${i}.wav`);
    const files = Object.fromEntries(names.map((name) => [name, 'well']));
    const takes = async () => (await readdir(join(dir, 's'))).filter((name) => name.endsWith('.take.json'));
    let sum = 0;
    for (let index = 1; index <= 4; index++) {
      const held = await transcribe(files, ['s'], { shard: { index, of: 4 } });
      expect(held.code).toBe(0);
      const [, said] = /(\d+) of \d+ recordings transcribed\n/.exec(held.stderr) ?? [];
      sum += Number(said);
      expect(await takes()).toHaveLength(sum);
    }
    expect(sum).toBe(20);
    const sharedOut = await readFile(join(dir, 's/7.take.json'), 'utf8');
    expect((await transcribe({}, ['s'], { force: true })).code).toBe(0);
    expect(await readFile(join(dir, 's/7.take.json'), 'utf8')).toBe(sharedOut);
    const none = await transcribe({}, ['s/1.wav'], { shard: { index: 1, of: 1e6 } });
    expect(none).toMatchObject({
      code: 0,
      stdout: '',
      stderr: 'none of the 1 recordings is in this share\n',
    });
  });

  it.each(['0/4', '5/4', '1/0', '4', '-1/4', '1/4x', '', '1.5/4'])('refuses %j as a share', (text) => {
    expect(() => parseShard(text)).toThrow(expect.objectContaining({ code: 'E_USAGE' }));
  });

  it('expands patterns if the shell did not', async () => {
    const files = {
      'a/1.wav': 'well',
      'a/b/2.wav': 'well',
      'a/b/.3.wav': 'well',
      'a/x.txt': 'words',
      'a/[1].wav': 'well',
    };
    const names = async (pattern: string) => {
      const { stdout } = await transcribe(files, [pattern], { save: false, json: true });
      return (JSON.parse(stdout) as { source: { file: string } }[]).map(({ source }) => source.file);
    };
    expect(await names('a/*')).toEqual(['[1].wav', '1.wav']);
    expect(await names('a/?.wav')).toEqual(['1.wav']);
    expect(await names('**/*.wav')).toEqual(['[1].wav', '1.wav', '2.wav']);
    const none = await transcribe({}, ['a/*.ogg'], { save: false });
    expect(none).toMatchObject({ code: 3, stdout: '' });
    expect(none.stderr).toBe("error: no recording matches 'DIR/a/*.ogg'; check the folder and the pattern\n");
  });

  it('does not let the take of one recording replace that of another, even when forced', async () => {
    const held = await transcribe({ 'x/t.wav': 'well', 'x/t.mp3': 'well' }, ['x'], { force: true });
    expect(held.code).toBe(5);
    expect(held.stderr).toContain(
      "error: 'DIR/x/t.wav' and 'DIR/x/t.mp3' would both be saved as 'DIR/x/t.take.json'; ",
    );
  });

  it('never overwrites a recording', async () => {
    const held = await transcribe({ 'a.wav': 'well' }, ['a.wav'], { out: join(dir, 'a.wav'), force: true });
    expect(held).toEqual({
      code: 2,
      stdout: '',
      stderr: "error: 'DIR/a.wav' is a recording; give another name with `--out`\n",
    });
    expect(await readFile(join(dir, 'a.wav'), 'utf8')).toBe('well');
  });

  it('saves several in the folder of --out, which it creates', async () => {
    const out = join(dir, 'takes', 'new');
    const held = await transcribe({ 'a.wav': 'well', 'b.wav': 'well' }, ['a.wav', 'b.wav'], { out });
    expect(held.code).toBe(0);
    expect((await readdir(out)).sort()).toEqual(['a.take.json', 'b.take.json']);
  });

  it('saves one to the file of --out, or in it if it is a folder', async () => {
    await transcribe({ 'a.wav': 'well' }, ['a.wav'], { out: join(dir, 'mine.json') });
    await transcribe({ 'd/x': '' }, ['a.wav'], { out: join(dir, 'd') });
    expect((await readdir(dir)).sort()).toEqual(['a.wav', 'd', 'mine.json']);
    expect((await readdir(join(dir, 'd'))).sort()).toEqual(['a.take.json', 'x']);
  });

  it('with --json prints the take, saves only to --out, and prints an array for many', async () => {
    const one = await transcribe({ 'a.wav': 'well' }, ['a.wav'], { json: true });
    expect(JSON.parse(one.stdout)).toMatchObject({ format: 'reedtrace-take', source: { file: 'a.wav' } });
    expect(one.stderr).toBe('');
    expect(await readdir(dir)).toEqual(['a.wav']);
    const many = await transcribe({ 'b.wav': 'damaged' }, ['a.wav', 'b.wav'], {
      json: true,
      out: join(dir, 'o'),
    });
    expect(JSON.parse(many.stdout)).toHaveLength(1);
    expect(await readTake(join(dir, 'o', 'a.take.json'))).toEqual(JSON.parse(many.stdout)[0]);
  });

  it('reads standard input, next to which nothing can be saved', async () => {
    const held = await transcribe({}, ['-']);
    expect(held).toEqual({ code: 0, stdout: sheetOf('standard input'), stderr: '' });
  });

  it.each([
    [{ out: '-' }, '`--out -` is not supported'],
    [{ out: 'x', save: false }, "`--out` and `--no-save` can't be used together"],
  ])('refuses %j', async (options, message) => {
    const { code } = await transcribe({ 'a.wav': 'well' }, ['a.wav'], options);
    expect(code).toMatchObject({ code: 'E_USAGE', message });
  });

  it('says that a folder has no recordings', async () => {
    const held = await transcribe({ 'a/x.txt': 'words', 'b.wav': 'well' }, ['a', 'b.wav'], { save: false });
    expect(held.code).toBe(3);
    expect(held.stderr).toContain("error: the folder 'DIR/a' has no recordings; ");
    expect(held.stdout).toBe(sheetOf('b.wav'));
  });

  it('transcribes files in a folder without a usual extension if their content is sound', async () => {
    const flac = 'fLaC\0\0\0\u0022';
    const held = await transcribe({ 'a/take one': flac, 'a/.hidden.wav': 'well' }, ['a'], { save: false });
    expect(held).toMatchObject({ code: 0, stdout: sheetOf('take one') });
  });

  it('continues after an internal error, and saves a report of it', async () => {
    const held = await transcribe({ 'a.wav': 'bug', 'b.wav': 'well' }, ['a.wav', 'b.wav'], { save: false });
    expect(held.code).toBe(70);
    expect(held.stdout).toBe(sheetOf('b.wav'));
    const report = /error: internal error \(x is not a function\); the report is in DIR\/(\S+)\n/.exec(
      held.stderr,
    );
    expect(await readFile(join(dir, report?.[1] ?? ''), 'utf8')).toContain(
      'TypeError: x is not a function\n    at ',
    );
    expect(held.stderr).not.toContain('    at ');
  });

  it('starts no further recording after Ctrl-C', async () => {
    const stop = new AbortController();
    const { io, texts } = captureIo({ signal: stop.signal });
    await writeFile(join(dir, 'a.wav'), 'well');
    await writeFile(join(dir, 'b.wav'), 'well');
    const stopping: Engine = {
      ...engine,
      async transcribe() {
        stop.abort();
        throw new ReedtraceError('E_INTERRUPTED', 'stopped', 'start again');
      },
    };
    const options = {
      harp: {},
      music: NOTHING_SAID,
      style: 'signs',
      save: true,
      force: false,
      json: false,
      quiet: false,
      debug: false,
    } as const;
    await expect(transcribeFiles([dir], options, io, { engine: stopping })).rejects.toMatchObject({
      code: 'E_INTERRUPTED',
    });
    expect((await readdir(dir)).sort()).toEqual(['a.wav', 'b.wav']);
    expect(texts).toEqual({ stdout: '', stderr: '' });
  });

  it('removes the progress line before anything is printed', async () => {
    const { stderr } = await transcribe({ 'a.wav': 'well' }, ['a.wav'], { save: false }, { tty: 80 });
    expect(stderr).toMatch(/^\ra\.wav: reading \(1 of 2\) 0 %/);
    expect(stderr.endsWith('\r\u001b[K')).toBe(true);
  });

  it('uses colour on a terminal only, and not with NO_COLOR', async () => {
    const files = { 'a.wav': 'well' };
    const on = await transcribe(files, ['a.wav'], { save: false }, { tty: 80 });
    expect(on.stdout).toContain('\u001b[2m[0:00]\u001b[22m');
    const off = await transcribe(files, ['a.wav'], { save: false }, { tty: 80, env: { NO_COLOR: '1' } });
    expect(off.stdout).toBe(sheetOf('a.wav'));
  });
});
