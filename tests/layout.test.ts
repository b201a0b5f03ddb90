import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const ROOT = fileURLToPath(new URL('../', import.meta.url));
const MOST_FILES = 16;
const MOST_LINES = 300;

const isCode = (file: string): boolean => /\.(?:ts|tsx|mjs)$/.test(file);

/** Code files below `folder`, relative to the repository, sorted. */
function codeFiles(folder: string): string[] {
  return readdirSync(join(ROOT, folder), { recursive: true, encoding: 'utf8' })
    .filter((file) => isCode(file) && !file.includes('node_modules'))
    .map((file) => join(folder, file))
    .sort();
}

const linesOf = (file: string): number => readFileSync(join(ROOT, file), 'utf8').split('\n').length - 1;

/** Folders with more code files than a reader can take in at a glance. */
function crowded(files: readonly string[]): string[] {
  const counts = new Map<string, number>();
  for (const file of files) counts.set(dirname(file), (counts.get(dirname(file)) ?? 0) + 1);
  return [...counts]
    .filter(([, count]) => count > MOST_FILES)
    .map(([folder, count]) => `${folder}: ${count}`);
}

describe('the layout', () => {
  const source = codeFiles('src');
  const all = [...source, ...codeFiles('tests'), ...codeFiles('samples')];

  it(`has no folder of more than ${MOST_FILES} files`, () => {
    expect(crowded(all)).toEqual([]);
  });

  it(`has no source file of more than ${MOST_LINES} lines`, () => {
    const long = source.filter((file) => linesOf(file) > MOST_LINES);
    expect(long.map((file) => `${file}: ${linesOf(file)}`)).toEqual([]);
  });

  it('is reported if it is broken', () => {
    const files = Array.from({ length: MOST_FILES + 1 }, (_, i) => `src/harp/file-${i}.ts`);
    expect(crowded(files)).toEqual([`src/harp: ${MOST_FILES + 1}`]);
  });
});
