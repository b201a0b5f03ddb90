import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

/** Imports that are there before any command runs: not those of types, and not `await import()`. */
const IMPORT = /^(?:import|export)\s(?!type\b)(?:[^'"]*?\sfrom\s)?['"]([^'"]+)['"]/gm;

function packagesBehind(start: URL): Set<string> {
  const packages = new Set<string>();
  const seen = new Set<string>();
  const visit = (file: URL) => {
    if (seen.has(file.href)) return;
    seen.add(file.href);
    for (const [, from] of readFileSync(file, 'utf8').matchAll(IMPORT)) {
      if (from.startsWith('.')) visit(new URL(from, file));
      else if (!from.startsWith('node:')) packages.add(from);
    }
  };
  visit(start);
  return packages;
}

const source = (path: string) => new URL(`../../src/${path}`, import.meta.url);

describe('what has to load before `--help` can answer', () => {
  it('is the parser of the command line and no other package', () => {
    expect([...packagesBehind(source('cli/main.ts'))]).toEqual(['commander']);
  });

  it('would be noticed if it were more', () => {
    expect([...packagesBehind(source('cli/transcribe-files.ts'))]).toContain('zod');
  });
});
