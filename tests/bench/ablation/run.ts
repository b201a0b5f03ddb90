import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { register } from 'node:module';
import { dirname, join, normalize, relative } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import ts from 'typescript';
import type { readRecording } from '../../../src/audio/read.ts';
import type { transcribe } from '../../../src/pipeline.ts';
import type { Note } from '../../../src/tab/note.ts';
import type { buildTake } from '../../../src/take/take.ts';
import { addTallies, scoreOf, tallyNotes, tallyTab } from '../scores/metrics.ts';
import { type LabelledTake, loadTakes } from '../sets/takes.ts';
import { type Constant, constantsOf, scaled } from './constants.ts';

/*
 * What every constant is worth: `npm run ablate -- [ROOM…] [--set FOLDER] [--first N] [--write FILE]`. Each number at module
 * level in the rooms (`analysis`, `holes`, `measure`, `decode`, `music`; or `analysis/notes` and the like) is halved and doubled,
 * and the labelled takes of the set (`samples/` if omitted; of another set the first N) are transcribed and put into bars with
 * that, nothing given. A constant that changes no note and no bar there either way is marked.
 */

const DIST = fileURLToPath(new URL('../../../dist/', import.meta.url));
const SOURCE = fileURLToPath(new URL('../../../src/', import.meta.url));
const SAMPLES = fileURLToPath(new URL('../../../samples', import.meta.url));
const ROOMS = ['analysis', 'holes', 'measure', 'decode', 'music'];
const PIPELINE = join(DIST, 'pipeline.js');
const TAKE = join(DIST, 'take/take.js');

const args = process.argv.slice(2);
const option = (name: string): string | undefined => {
  const at = args.indexOf(name);
  return at < 0 ? undefined : args.splice(at, 2)[1];
};
const set = option('--set') ?? SAMPLES;
const file = option('--write');
const first = Number(option('--first') ?? Number.POSITIVE_INFINITY);
const rooms = args.length > 0 ? args : ROOMS;

/** Compiled modules that import each module, directly or not, and itself; URLs. */
function importersOf(entries: readonly string[]): Record<string, string[]> {
  const imports = new Map<string, string[]>();
  const read = (path: string): void => {
    if (imports.has(path) || !existsSync(path)) return;
    const names = ts.preProcessFile(readFileSync(path, 'utf8'), true, true).importedFiles;
    const own = names.map(({ fileName }) => fileName).filter((name) => name.startsWith('.'));
    imports.set(
      path,
      own.map((name) => normalize(join(dirname(path), name))),
    );
    for (const other of imports.get(path) ?? []) read(other);
  };
  for (const entry of entries) read(entry);
  const reached: Record<string, string[]> = {};
  for (const path of imports.keys()) {
    const all = new Set([path]);
    for (let grown = 0; grown !== all.size; ) {
      grown = all.size;
      for (const [other, own] of imports) if (own.some((name) => all.has(name))) all.add(other);
    }
    reached[relative(DIST, path)] = [...all].map((name) => pathToFileURL(name).href);
  }
  return reached;
}

interface Change {
  readonly constant: Constant;
  readonly factor: 0.5 | 2;
  readonly to: number;
}

interface Result {
  readonly noteF1: number;
  readonly tabF1: number;
  /** Notes as text with their place in the bar, take by take, to see what changed. */
  readonly notes: readonly (readonly string[])[];
}

const reached = importersOf([PIPELINE, TAKE]);
const constants = rooms.flatMap((room) => constantsOf(DIST, room)).filter((each) => each.file in reached);
const changes: Change[] = constants.flatMap((constant) =>
  ([0.5, 2] as const).flatMap((factor) => {
    const to = scaled(constant.value, factor);
    return to === null ? [] : [{ constant, factor, to }];
  }),
);
register('./hooks.mjs', import.meta.url, {
  data: {
    reached,
    changes: changes.map(({ constant: { file, start, end }, to }) => ({
      file,
      url: pathToFileURL(join(DIST, file)).href,
      start,
      end,
      text: `(${to})`,
    })),
  },
});

const takes = loadTakes(set).slice(0, first);
const { readRecording: read } = (await import(pathToFileURL(join(DIST, 'audio/read.js')).href)) as {
  readRecording: typeof readRecording;
};
const recordings = await Promise.all(takes.map(async (take) => ({ take, ...(await read(take.path)) })));

const inShort = (note: Note): string =>
  JSON.stringify(note, (_, value) => (typeof value === 'number' ? Number(value.toPrecision(6)) : value));

/** @param change  such as `?change=3` */
async function measure(change = ''): Promise<Result> {
  const load = (path: string) => import(`${pathToFileURL(path).href}${change}`);
  const { transcribe: hear } = (await load(PIPELINE)) as { transcribe: typeof transcribe };
  const { buildTake: build } = (await load(TAKE)) as { buildTake: typeof buildTake };
  const results: { take: LabelledTake; notes: readonly Note[]; told: string[] }[] = [];
  for (const { take, samples, source } of recordings) {
    const made = await hear(samples, {}).then(
      (found) => build(source, found),
      () => null,
    );
    const notes = made?.notes ?? [];
    const bars = made?.beats.notes ?? [];
    results.push({
      take,
      notes,
      told: notes.map((note, i) => `${inShort(note)} ${JSON.stringify(bars[i])}`),
    });
  }
  const tallies = results.map(({ take, notes }) => ({
    note: tallyNotes(take.notes, notes),
    tab: tallyTab(take.notes, notes),
  }));
  return {
    noteF1: scoreOf(addTallies(tallies.map(({ note }) => note))).f1,
    tabF1: scoreOf(addTallies(tallies.map(({ tab }) => tab))).f1,
    notes: results.map(({ told }) => told),
  };
}

const usual = await measure();
const count = usual.notes.flat().length;

/** Notes that are not as usual, of the usual ones and the new. */
function changed({ notes }: Result): number {
  return notes.reduce((sum, each, t) => {
    const before = new Set(usual.notes[t]);
    const now = new Set(each);
    return (
      sum +
      Math.max(each.filter((n) => !before.has(n)).length, usual.notes[t].filter((n) => !now.has(n)).length)
    );
  }, 0);
}

const cells = new Map<Constant, Partial<Record<0.5 | 2, readonly [f1: string, changed: number]>>>();
const signed = (value: number): string =>
  Math.abs(value) < 0.0005 ? '0' : `${value > 0 ? '+' : ''}${value.toFixed(3)}`;
for (const [number, { constant, factor }] of changes.entries()) {
  const result = await measure(`?change=${number}`).catch(() => null);
  const f1 =
    result === null
      ? 'fails'
      : `${signed(result.noteF1 - usual.noteF1)}, ${signed(result.tabF1 - usual.tabF1)}`;
  cells.set(constant, { ...cells.get(constant), [factor]: [f1, result === null ? count : changed(result)] });
  if (process.stderr.isTTY) process.stderr.write(`\r${number + 1} of ${changes.length}`);
}

/** The first sentence of what stands above a constant in the source. */
function comment({ file: path, name }: Constant): string {
  const text = readFileSync(join(SOURCE, path.replace(/\.js$/, '.ts')), 'utf8');
  const [first, ...rest] = name.split('.');
  const key = rest.at(-1) ?? first;
  const at = text.search(new RegExp(rest.length > 0 ? `^\\s+${key}:` : `^(?:export )?const ${key}\\b`, 'm'));
  const above = /\/\*\*((?:(?!\*\/)[\s\S])*)\*\/\s*$/.exec(text.slice(0, at))?.[1] ?? '';
  return above
    .replaceAll(/\s*\n\s*\*\s?/g, ' ')
    .replaceAll('|', '/')
    .trim();
}

const lines = [
  `Note F1 ${usual.noteF1.toFixed(3)}, tab F1 ${usual.tabF1.toFixed(3)} on ${takes.length} takes, ${count} notes, nothing given. Change of both F1, then notes`,
  'of which anything changed, with the constant halved and doubled. **none**: nothing changed on this set.',
  '',
  '| constant | value | halved | | doubled | | what it says of itself |',
  '| --- | --- | --- | --- | --- | --- | --- |',
  ...constants.flatMap((constant) => {
    const cell = cells.get(constant);
    if (cell === undefined) return [];
    const side = (factor: 0.5 | 2): string => {
      const found = cell[factor];
      return found === undefined ? '|  ' : `${found[0]} | ${found[1]}`;
    };
    const none = Object.values(cell).every(([, notes]) => notes === 0);
    const named = `${constant.file.replace(/\.js$/, '')} ${constant.name}`;
    return [
      `| ${named} | ${constant.value} | ${none ? '**none** | ' : side(0.5)} | ${none ? ' | ' : side(2)} | ${comment(constant)} |`,
    ];
  }),
];
if (file === undefined) process.stdout.write(`${lines.join('\n')}\n`);
else writeFileSync(file, `${lines.join('\n')}\n`);
