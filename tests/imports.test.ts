import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, normalize } from 'node:path';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';
import { describe, expect, it } from 'vitest';

const ROOT = fileURLToPath(new URL('../src/', import.meta.url));

/** From the bottom up: a file imports from its own layer and those below, types included. The longest name counts. */
const LAYERS: readonly string[] = [
  'errors.ts',
  'limits.ts',
  'fitted.ts',
  'plain-text.ts',
  'text',
  'units.ts',
  'kernel.ts',
  'statistics.ts',
  'weight-table.ts',
  'files',
  'decode',
  'audio/source.ts',
  'audio/shorts.ts',
  'audio/formats',
  'audio/codecs',
  'audio',
  'sound',
  'parallel-stage.ts',
  'harp',
  'tab',
  'music',
  'music/rhythm',
  'music/words',
  'music/reading',
  'analysis/pitch',
  'analysis/notes',
  'analysis/ornaments',
  'analysis/playing',
  'holes',
  'measure/leak',
  'measure',
  'threads',
  'take',
  'take/edits',
  'take/files',
  'check/align/reference.ts',
  'check/finding.ts',
  'check/words.ts',
  'check/align',
  'check/judging',
  'check/advice',
  'check',
  'check/progress',
  'check/bends',
  'arrange',
  'pipeline.ts',
  'recording',
  'export/notation/spelling.ts',
  'export/score.ts',
  'export/notation/spans.ts',
  'export/notation/lines.ts',
  'export/repeats.ts',
  'export/notation',
  'export/head.ts',
  'export/hard-spots.ts',
  'export/tab.ts',
  'export/musicxml',
  'export/sheet',
  'export/page',
  'export',
  'ui/state',
  'ui/input.ts',
  'ui/keys.ts',
  'ui/view',
  'ui/commands',
  'ui/commands/words',
  'ui/commands/reduce.ts',
  'ui/effects',
  'ui',
  'cli/terminal',
  'cli/options',
  'cli/files',
  'cli/hear',
  'cli',
  'cli/run.ts',
  'cli/main.ts',
  'index.ts',
];
/** What commands share; every other folder of `cli/` is a command. */
const SHARED_BY_COMMANDS = /^cli\/(?:terminal|options|files|hear)\//;

type Graph = ReadonlyMap<string, readonly string[]>;

/** Each file below src/ with the files that it imports: types, `import()` and re-exports alike. */
function importGraph(): Graph {
  const files = readdirSync(ROOT, { recursive: true, encoding: 'utf8' }).filter(
    (file) => /\.tsx?$/.test(file) && !file.endsWith('.d.ts') && !file.startsWith('kernel/'),
  );
  return new Map(
    files.map((file) => {
      const { importedFiles } = ts.preProcessFile(readFileSync(join(ROOT, file), 'utf8'), true, true);
      const own = importedFiles.map(({ fileName }) => fileName).filter((name) => name.startsWith('.'));
      return [file, own.map((name) => normalize(join(dirname(file), name)))];
    }),
  );
}

function layerOf(file: string): number {
  const holds = (layer: string): boolean => file === layer || file.startsWith(`${layer}/`);
  const [nearest] = LAYERS.filter(holds).sort((a, b) => b.length - a.length);
  return nearest === undefined ? -1 : LAYERS.indexOf(nearest);
}

/** The command whose folder holds a file. */
function command(file: string): string | undefined {
  return SHARED_BY_COMMANDS.test(file) ? undefined : /^cli\/([^/]+)\//.exec(file)?.[1];
}

function arrowsUp(graph: Graph): string[] {
  return [...graph].flatMap(([file, imported]) =>
    imported.filter((other) => layerOf(other) > layerOf(file)).map((other) => `${file} → ${other}`),
  );
}

/** A cycle for each file from which one leads back to it. */
function circles(graph: Graph): string[] {
  const found: string[] = [];
  const done = new Set<string>();
  const walk = (file: string, way: readonly string[]): void => {
    const at = way.indexOf(file);
    if (at >= 0) found.push([...way.slice(at), file].join(' → '));
    if (at >= 0 || done.has(file)) return;
    for (const other of graph.get(file) ?? []) walk(other, [...way, file]);
    done.add(file);
  };
  for (const file of graph.keys()) walk(file, []);
  return found;
}

/** The folders of a graph; a folder stands for its files, and those at the top each for itself. */
function folderGraph(graph: Graph): Graph {
  const folderOf = (file: string): string => (dirname(file) === '.' ? file : dirname(file));
  const folders = new Map<string, Set<string>>();
  for (const [file, imported] of graph) {
    const folder = folderOf(file);
    const own = folders.get(folder) ?? new Set();
    for (const other of imported.map(folderOf)) if (!isWithin(other, folder)) own.add(other);
    folders.set(folder, own);
  }
  return new Map([...folders].map(([folder, others]) => [folder, [...others]]));
}

/** Whether one of two folders contains the other: their files may be layers of one folder. */
function isWithin(folder: string, other: string): boolean {
  return folder === other || folder.startsWith(`${other}/`) || other.startsWith(`${folder}/`);
}

const graph = importGraph();

describe('imports', () => {
  it('are all read, and name existing files', () => {
    expect(graph.get('pipeline.ts')).toEqual(
      expect.arrayContaining(['analysis/pitch/frames.ts', 'tab/note.ts']),
    );
    expect([...graph.values()].flat().filter((file) => !graph.has(file))).toEqual([]);
  });

  it('connect files that belong to a layer', () => {
    expect([...graph.keys()].filter((file) => layerOf(file) < 0)).toEqual([]);
  });

  it('never point upwards', () => {
    expect(arrowsUp(graph)).toEqual([]);
  });

  it('form no cycle, types included', () => {
    expect(circles(graph)).toEqual([]);
  });

  it('form no cycle of folders either, except within one top-level folder', () => {
    expect(circles(folderGraph(graph))).toEqual([]);
  });

  it('connect no command to another', () => {
    const ties = [...graph].flatMap(([file, imported]) =>
      imported
        .filter((other) => command(file) && command(other) && command(file) !== command(other))
        .map((other) => `${file} → ${other}`),
    );
    expect(ties).toEqual([]);
  });

  it('go from command.ts to its work and last to its options, in each command', () => {
    const rank = (file: string): number =>
      ({ 'options.ts': 0, 'run.ts': 2, 'command.ts': 3 })[file.slice(file.lastIndexOf('/') + 1)] ?? 1;
    const backwards = [...graph].flatMap(([file, imported]) =>
      imported
        .filter((other) => command(file) && command(file) === command(other) && rank(other) > rank(file))
        .map((other) => `${file} → ${other}`),
    );
    expect(backwards).toEqual([]);
  });

  it('are reported if they break a rule', () => {
    const wrong: Graph = new Map([
      ['harp/keys.ts', ['take/schema.ts']],
      ['take/schema.ts', ['take/format.ts']],
      ['take/format.ts', ['take/schema.ts']],
    ]);
    expect(arrowsUp(wrong)).toEqual(['harp/keys.ts → take/schema.ts']);
    expect(circles(wrong)).toEqual(['take/schema.ts → take/format.ts → take/schema.ts']);
    const twoWays: Graph = new Map([
      ['ui/view/tab.ts', ['ui/commands/line.ts']],
      ['ui/commands/line.ts', []],
      ['ui/commands/help.ts', ['ui/view/help.ts', 'ui/commands/words/keys.ts']],
      ['ui/commands/words/keys.ts', ['ui/commands/line.ts']],
      ['ui/view/help.ts', []],
    ]);
    expect(circles(folderGraph(twoWays))).toEqual(['ui/view → ui/commands → ui/view']);
  });
});
