import { readFileSync } from 'node:fs';

/** The version of this package, as in its package.json. */
export function packageVersion(): string {
  // The same number of folders up from src/ and from dist/.
  const text = readFileSync(new URL('../../../package.json', import.meta.url), 'utf8');
  return (JSON.parse(text) as { version: string }).version;
}
