import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { register } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join, normalize, relative } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import ts from 'typescript';
import { checkedStudents } from './checked.ts';
import { type Constant, constantsOf, scaled } from './constants.ts';
import { heardTakes } from './heard.ts';
import { writeMixedTakes } from './mixed.ts';
import { ornamentedNotes } from './ornamented.ts';
import { changed, type Result } from './yardstick.ts';

/*
 * What every constant is worth: `npm run ablate -- [FOLDER…] [--set FOLDER] [--first N] [--factors LIST] [--write FILE]`. Each
 * number at module level in the folders (`analysis`, `holes`, `measure`, `decode`, `music`; a subfolder such as `analysis/notes`, or a
 * module such as `analysis/notes/steps`) is halved and doubled, or multiplied by the factors of the list (0 removes it). Each
 * time, the labelled takes of the set are transcribed and put into bars, with nothing given: `samples/` if omitted; `mixed` for
 * the short takes of `mixed.ts`, rendered on the spot; of any other set the first N. Two folders have a measure of their own and
 * must be named alone: `check` (students with planted mistakes, heard once and checked each time; `--first` of each situation) and
 * `measure/ornaments` (planted ornaments; `--first` rounds). A constant that changes nothing either way is marked.
 */

const DIST = fileURLToPath(new URL('../../../dist/', import.meta.url));
const SAMPLES = fileURLToPath(new URL('../../../samples', import.meta.url));
const FOLDERS = ['analysis', 'holes', 'measure', 'decode', 'music'];
/** Folders with a measure of their own, and how much of it to use unless `--first` is given: students of each situation, rounds of takes. */
const OWN_MEASURE = { check: 3, 'measure/ornaments': 4 } as const;

const args = process.argv.slice(2);
const option = (name: string): string | undefined => {
  const at = args.indexOf(name);
  return at < 0 ? undefined : args.splice(at, 2)[1];
};
const named = option('--set') ?? SAMPLES;
const file = option('--write');
const first = Number(option('--first') ?? Number.POSITIVE_INFINITY);
const factors = (option('--factors') ?? '0.5,2').split(',').map(Number);
const folders = args.length > 0 ? args : FOLDERS;

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
  readonly factor: number;
  readonly to: number;
}

const own = (Object.keys(OWN_MEASURE) as (keyof typeof OWN_MEASURE)[]).find((folder) =>
  folders[0].startsWith(folder),
);
if (own !== undefined && !folders.every((folder) => folder.startsWith(own)))
  throw new Error(`\`${own}\` has a measure of its own: name it alone`);
const made = named === 'mixed' ? mkdtempSync(join(tmpdir(), 'reedtrace-ablation-')) : null;
if (made !== null) writeMixedTakes(made);
const size = own !== undefined && !Number.isFinite(first) ? OWN_MEASURE[own] : first;
const yardstick =
  own === 'check'
    ? await checkedStudents(DIST, size)
    : own === 'measure/ornaments'
      ? await ornamentedNotes(DIST, size)
      : await heardTakes(DIST, made ?? named, first);
if (made !== null) rmSync(made, { recursive: true });
const reached = importersOf(yardstick.entries);
const constants = folders
  .flatMap((folder) => constantsOf(DIST, folder))
  .filter((each) => each.file in reached);
const changes: Change[] = constants.flatMap((constant) =>
  factors.flatMap((factor) => {
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

/** @param change  its number; null for none */
const measure = (change: number | null): Promise<Result> =>
  yardstick.measure(
    (path) => import(`${pathToFileURL(path).href}${change === null ? '' : `?change=${change}`}`),
    (path) => change !== null && reached[changes[change].constant.file].includes(pathToFileURL(path).href),
  );

const usual = await measure(null);
const count = usual.told.flat().length;

const cells = new Map<Constant, Partial<Record<number, readonly [scores: string, changed: number]>>>();
const signed = (value: number): string =>
  Math.abs(value) < 0.0005 ? '0' : `${value > 0 ? '+' : ''}${value.toFixed(3)}`;
for (const [number, { constant, factor }] of changes.entries()) {
  const result = await measure(number).catch(() => null);
  const scores =
    result === null ? 'fails' : result.scores.map((score, i) => signed(score - usual.scores[i])).join(', ');
  cells.set(constant, {
    ...cells.get(constant),
    [factor]: [scores, result === null ? count : changed(usual, result)],
  });
  if (process.stderr.isTTY) process.stderr.write(`\r${number + 1} of ${changes.length}`);
}

const lines = [
  `${yardstick.scores.map((name, i) => `${name} ${usual.scores[i].toFixed(3)}`).join(', ')} on ${yardstick.of}. The table gives the change of these`,
  `scores, and how many of the ${count} results changed, with the constant times ${factors.join(' and ')}. **none**: nothing changed on this set.`,
  '',
  `| constant | value | ${factors.map((factor) => `× ${factor} | `).join('| ')}|`,
  `| --- | --- | ${factors.map(() => '--- | --- |').join(' ')}`,
  ...constants.flatMap((constant) => {
    const cell = cells.get(constant);
    if (cell === undefined) return [];
    const none = Object.values(cell).every((found) => found?.[1] === 0);
    const sides = factors.map((factor, i) => {
      const found = cell[factor];
      if (none) return i === 0 ? '**none** | ' : ' | ';
      return found === undefined ? ' | ' : `${found[0]} | ${found[1]}`;
    });
    const named = `${constant.file.replace(/\.js$/, '')} ${constant.name}`;
    return [`| ${named} | ${constant.value} | ${sides.join(' | ')} |`];
  }),
];
if (file === undefined) process.stdout.write(`${lines.join('\n')}\n`);
else writeFileSync(file, `${lines.join('\n')}\n`);
