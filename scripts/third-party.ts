import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/*
 * Writes the table of all packages in THIRD-PARTY.md from package-lock.json: `npm run third-party`. A test holds the file
 * against the lockfile.
 */

const at = (path: string): string => fileURLToPath(new URL(`../${path}`, import.meta.url));
const BEGIN = '<!-- packages: npm run third-party -->';
const END = '<!-- end of packages -->';

/** Licences under which a package may be combined with a work under AGPL-3.0-or-later; each as its package declares it. */
const COMPATIBLE: ReadonlySet<string> = new Set([
  'MIT',
  'ISC',
  'BSD-3-Clause',
  'Python-2.0',
  'Apache-2.0',
  'OFL-1.1',
  'LGPL-2.1-or-later',
  'LGPL-3.0-or-later',
  'GPL-2.0-or-later',
  'AGPL-3.0',
]);
/** Packages whose declaration says less than the files in them do; each is explained in THIRD-PARTY.md. */
const READ_IN_ITS_FILES: Readonly<Record<string, string>> = {
  '@audio/decode-aac': 'GPL-2.0-or-later',
  'png-js': 'MIT',
};

interface LockedPackage {
  readonly version: string;
  readonly license?: string;
  readonly dev?: boolean;
}

/** A package that is installed with Reedtrace. */
export interface ThirdParty {
  readonly name: string;
  readonly version: string;
  readonly licence: string;
}

/** Where the packages that come along lie, relative to the lockfile. */
export function thirdPartyPaths(lockfile: string): string[] {
  const { packages } = JSON.parse(lockfile) as { packages: Record<string, LockedPackage> };
  return Object.entries(packages).flatMap(([path, { dev }]) => (path === '' || dev === true ? [] : [path]));
}

/** All packages that come along, direct or not, by name; `lockfile` is the text of package-lock.json. */
export function thirdParties(lockfile: string): ThirdParty[] {
  const { packages } = JSON.parse(lockfile) as { packages: Record<string, LockedPackage> };
  return Object.entries(packages)
    .filter(([path, { dev }]) => path !== '' && dev !== true)
    .map(([path, { version, license }]) => {
      const name = path.slice(path.lastIndexOf('node_modules/') + 'node_modules/'.length);
      return { name, version, licence: READ_IN_ITS_FILES[name] ?? license ?? 'none declared' };
    })
    .sort((a, b) => (a.name < b.name ? -1 : 1));
}

/** Those whose licence has not been looked at. */
export function unknownLicences(parties: readonly ThirdParty[]): ThirdParty[] {
  return parties.filter(({ licence }) => !COMPATIBLE.has(licence));
}

/** THIRD-PARTY.md with its table of packages made anew. */
export function withTable(text: string, parties: readonly ThirdParty[]): string {
  const byLicence = new Map<string, string[]>();
  for (const { name, version, licence } of parties)
    byLicence.set(licence, [...(byLicence.get(licence) ?? []), `${name} ${version}`]);
  const rows = [...byLicence]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([licence, names]) => `**${licence}**: ${[...new Set(names)].join(', ')}.`);
  const [before] = text.split(BEGIN);
  const after = text.split(END)[1] ?? '\n';
  return `${before}${BEGIN}\n\n${rows.join('\n\n')}\n\n${END}${after}`;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const parties = thirdParties(readFileSync(at('package-lock.json'), 'utf8'));
  writeFileSync(at('THIRD-PARTY.md'), withTable(readFileSync(at('THIRD-PARTY.md'), 'utf8'), parties));
}
