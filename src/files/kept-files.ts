import { stat } from 'node:fs/promises';
import { resolve } from 'node:path';

async function identify(path: string): Promise<string | null> {
  const found = await stat(path, { bigint: true }).catch(() => null);
  return found === null ? null : `${found.dev}:${found.ino}`;
}

/**
 * Files that a command reads and must never write, not even with `--force`: recordings, takes, words. They are recognised by
 * device and inode under any path, through links to the file or to a folder above it.
 */
export class KeptFiles {
  readonly #byPath = new Map<string, string>();
  #byIdentity: Promise<ReadonlyMap<string, string>> | null = null;

  /** @param files  paths, each with a description of the file; `-` is standard input */
  constructor(files: Iterable<readonly [path: string, what: string]>) {
    for (const [path, what] of files) {
      if (path !== '-' && !this.#byPath.has(resolve(path))) this.#byPath.set(resolve(path), what);
    }
  }

  /** The description of the file that would be overwritten; null if it is none of these. */
  async find(path: string): Promise<string | null> {
    const named = this.#byPath.get(resolve(path));
    if (named !== undefined) return named;
    const identity = await identify(path);
    if (identity === null) return null;
    this.#byIdentity ??= this.#identifyAll();
    return (await this.#byIdentity).get(identity) ?? null;
  }

  async #identifyAll(): Promise<ReadonlyMap<string, string>> {
    const known = new Map<string, string>();
    for (const [path, what] of this.#byPath) {
      const identity = await identify(path);
      if (identity !== null) known.set(identity, what);
    }
    return known;
  }
}
