import { readdir } from 'node:fs/promises';
import { join } from 'node:path';

const WILD = /[*?]/;

function matcher(pattern: string): RegExp {
  const escaped = pattern.replace(/[.+^${}()|[\]\\]/g, '\\$&');
  return new RegExp(`^${escaped.replaceAll('*', '.*').replaceAll('?', '.')}$`, 'su');
}

/** True if a path is a pattern; some shells leave patterns to the program. */
export function isPattern(path: string): boolean {
  return WILD.test(path);
}

/**
 * The paths that match a pattern, in no order: `*` for any characters of a name, `?` for one, `**` for any folders.
 * Names that begin with a dot only match a pattern that does too.
 */
export async function expandPattern(pattern: string): Promise<string[]> {
  const [first, ...rest] = pattern.split(/[/\\]+/);
  const rooted = first === '' || /^[A-Za-z]:$/.test(first);
  return expand(rooted ? `${first}/` : '', rooted ? rest : [first, ...rest]);
}

async function expand(base: string, [part, ...rest]: readonly string[]): Promise<string[]> {
  if (part === undefined) return [base];
  if (!WILD.test(part)) return expand(join(base, part), rest);
  const entries = await readdir(base === '' ? '.' : base, { withFileTypes: true }).catch(() => []);
  const fits = part === '**' ? null : matcher(part);
  const found: string[] = part === '**' ? await expand(base, rest) : [];
  for (const entry of entries) {
    if (entry.name.startsWith('.') && !part.startsWith('.')) continue;
    const path = join(base, entry.name);
    if (fits === null) {
      // Not through links, which may form a loop.
      if (entry.isDirectory()) found.push(...(await expand(path, ['**', ...rest])));
    } else if (fits.test(entry.name) && (rest.length === 0 || !entry.isFile())) {
      found.push(...(await expand(path, rest)));
    }
  }
  return found;
}
