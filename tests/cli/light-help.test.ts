import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

/** Imports that are there before any command runs: not those of types, and not `await import()`. */
const IMPORT = /^(?:import|export)\s(?!type\b)(?:[^'"]*?\sfrom\s)?['"]([^'"]+)['"]/gm;
/** Those that a command loads when it runs. */
const LATER = /\b(?:import|createRequire\(import\.meta\.url\))\(\s*['"]([^'"]+)['"]\s*\)/g;

/** Packages and files below `src/` that a file loads. */
function behind(start: string, patterns: readonly RegExp[]): { packages: Set<string>; files: Set<string> } {
  const root = new URL('../../src/', import.meta.url);
  const packages = new Set<string>();
  const files = new Set<string>();
  const visit = (file: URL) => {
    const name = file.href.slice(root.href.length);
    if (files.has(name)) return;
    files.add(name);
    const text = readFileSync(file, 'utf8');
    for (const pattern of patterns) {
      for (const [, from] of text.matchAll(pattern)) {
        if (from.startsWith('.')) visit(new URL(from, file));
        else if (!from.startsWith('node:')) packages.add(from);
      }
    }
  };
  visit(new URL(start, root));
  return { packages, files };
}

/** Folders of the work itself: none of it is needed to say what a command does. */
const WORK =
  /^(?:analysis|arrange|audio|check|decode|export|holes|measure|music|sound|tab|take|threads|ui)\/|^(?:pipeline|kernel)\.ts$/;
const asked = behind('cli/main.ts', [IMPORT]);
const ever = behind('cli/main.ts', [IMPORT, LATER]);

describe('what has to load before `--help` can answer', () => {
  it('is the command-line parser and no other package', () => {
    expect([...asked.packages]).toEqual(['commander']);
  });

  it('does not include the work itself', () => {
    // One number, which the help quotes, and how a form is written.
    const light = ['tab/tolerance.ts', 'music/form.ts'];
    expect([...asked.files].filter((file) => WORK.test(file) && !light.includes(file))).toEqual([]);
  });

  it('is seen to grow when a command runs and loads the rest', () => {
    const { dependencies } = JSON.parse(
      readFileSync(new URL('../../package.json', import.meta.url), 'utf8'),
    ) as { dependencies: Record<string, string> };
    const names = [...ever.packages].map((name) => name.split('/')[0]);
    // `hyphen` is loaded by a name that depends on the language.
    const found = Object.keys(dependencies).filter((name) => names.includes(name));
    expect(found).toEqual(expect.arrayContaining(['commander', 'zod', 'verovio', 'string-width']));
    expect([...ever.files]).toEqual(
      expect.arrayContaining(['pipeline.ts', 'take/schema.ts', 'ui/effects/session.ts']),
    );
  });
});
