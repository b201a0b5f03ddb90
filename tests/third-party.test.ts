import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { thirdParties, unknownLicences, withTable } from '../scripts/third-party.ts';

const read = (path: string): string =>
  readFileSync(fileURLToPath(new URL(`../${path}`, import.meta.url)), 'utf8');

describe('THIRD-PARTY.md', () => {
  const parties = thirdParties(read('package-lock.json'));
  const { dependencies } = JSON.parse(read('package.json')) as { dependencies: Record<string, string> };

  it('lists every package of the lockfile with its licence (`npm run third-party` writes it)', () => {
    const text = read('THIRD-PARTY.md');
    expect(text).toBe(withTable(text, parties));
  });

  it('includes all direct dependencies', () => {
    const names = parties.map(({ name }) => name);
    expect(Object.keys(dependencies).filter((name) => !names.includes(name))).toEqual([]);
  });

  it('has no package whose licence was not reviewed', () => {
    expect(unknownLicences(parties)).toEqual([]);
    const another = { '': {}, 'node_modules/x': { version: '1.0.0', license: 'SSPL-1.0' } };
    const found = unknownLicences(thirdParties(JSON.stringify({ packages: another })));
    expect(found).toEqual([{ name: 'x', version: '1.0.0', licence: 'SSPL-1.0' }]);
  });

  it('gives the reason and licence of every direct dependency in scripts/README.md', () => {
    const rows = read('scripts/README.md').matchAll(/^\| `([^`]+)` +\| [^|]+ \| [^|]+ \|/gm);
    const told = new Set([...rows].map(([, name]) => name));
    expect(Object.keys(dependencies).filter((name) => !told.has(name))).toEqual([]);
  });
});
