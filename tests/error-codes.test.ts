import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { ERROR_CODES, EXIT } from '../src/errors.ts';

const read = (name: string) => readFileSync(new URL(`../${name}`, import.meta.url), 'utf8');

describe('the table of error codes in src/cli/terminal/README.md', () => {
  const rows = [
    ...read('src/cli/terminal/README.md').matchAll(/^\| `(E_[A-Z_]+)` +\| +(\d+) +\| \S.* \|$/gm),
  ];

  it('lists each code of the catalogue, with its exit code, and no other', () => {
    const documented = rows.map(([, code, exit]) => [code, Number(exit)]);
    expect(documented).toEqual(Object.entries(ERROR_CODES));
  });
});

describe('the list of exit codes in src/cli/README.md', () => {
  it('lists each exit code, and no other', () => {
    const section = /## Exit codes\n([\s\S]*)/.exec(read('src/cli/README.md'))?.[1] ?? '';
    const documented = [...section.matchAll(/^\| (\d+) +\| \S/gm)].map(([, code]) => Number(code));
    expect(documented).toEqual(Object.values(EXIT));
  });
});
