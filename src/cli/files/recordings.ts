import { readdir, stat } from 'node:fs/promises';
import { extname, join, resolve } from 'node:path';
import { recogniseFormat, SNIFF_BYTES } from '../../audio/formats/sniff.ts';
import { ReedtraceError } from '../../errors.ts';
import { readStart } from '../../files/read-input.ts';
import { expandPattern, isPattern } from './glob.ts';

/** Usual extensions of recordings; other files in a folder are included if their content is a recording. */
const EXTENSIONS: ReadonlySet<string> = new Set(
  'wav wave rf64 bwf mp3 m4a mp4 aac flac ogg oga opus webm weba mka aif aiff aifc caf'
    .split(' ')
    .map((extension) => `.${extension}`),
);

/** Sorts as a person would: `take 2` before `take 10`. */
function sortByName(names: string[]): string[] {
  return names.sort(new Intl.Collator('en', { numeric: true }).compare);
}

/** A recording to work on, or why a name gives none. */
export type Operand = { readonly path: string } | { readonly path: string; readonly error: ReedtraceError };

async function soundsLikeOne(path: string): Promise<boolean> {
  const head = await readStart(path, SNIFF_BYTES);
  if (head === null) return false; // not readable, which in a folder is no error
  try {
    recogniseFormat(head, path);
    return true;
  } catch {
    return false;
  }
}

async function recordingsIn(folder: string): Promise<Operand[]> {
  const entries = await readdir(folder, { withFileTypes: true }).catch((cause: NodeJS.ErrnoException) => {
    throw new ReedtraceError(
      'E_NOT_A_FILE',
      `the folder '${folder}' can't be read (${cause.code})`,
      'check that you may read it',
      { cause },
    );
  });
  const names: string[] = [];
  for (const entry of entries) {
    // Only files and links to them: opening a pipe would wait for ever.
    if (entry.name.startsWith('.') || !(entry.isFile() || entry.isSymbolicLink())) continue;
    const usual = EXTENSIONS.has(extname(entry.name).toLowerCase());
    if (usual || (entry.isFile() && (await soundsLikeOne(join(folder, entry.name))))) names.push(entry.name);
  }
  sortByName(names);
  if (names.length === 0) {
    throw new ReedtraceError(
      'E_NOT_FOUND',
      `the folder '${folder}' has no recordings`,
      'name another folder, or the recordings themselves; folders inside it are not searched',
    );
  }
  return names.map((name) => ({ path: join(folder, name) }));
}

/** A name that exists is never a pattern, whatever its characters. */
async function kindOf(path: string): Promise<'file' | 'folder' | 'pattern'> {
  if (path === '-') return 'file';
  return stat(path).then(
    (info) => (info.isDirectory() ? 'folder' : 'file'),
    () => (isPattern(path) ? 'pattern' : 'file'), // reading it will say what is wrong
  );
}

/** The recordings that match a pattern; other files and folders are skipped. */
async function recordingsLike(pattern: string): Promise<Operand[]> {
  const paths: string[] = [];
  for (const path of await expandPattern(pattern)) {
    const isFile = await stat(path).then(
      (info) => info.isFile(),
      () => false,
    );
    if (isFile && (EXTENSIONS.has(extname(path).toLowerCase()) || (await soundsLikeOne(path))))
      paths.push(path);
  }
  if (paths.length === 0) {
    throw new ReedtraceError(
      'E_NOT_FOUND',
      `no recording matches '${pattern}'`,
      'check the folder and the pattern',
    );
  }
  return sortByName(paths).map((path) => ({ path }));
}

/**
 * The recordings named, with folders opened (but not the folders inside them) and patterns expanded, each once, in
 * order. What can't be opened stays in its place with its error, so that the others are still processed.
 */
export async function findRecordings(
  named: readonly string[],
): Promise<{ operands: Operand[]; many: boolean }> {
  const operands: Operand[] = [];
  const seen = new Set<string>();
  let many = named.length > 1;
  for (const path of named) {
    const kind = await kindOf(path);
    many ||= kind !== 'file';
    let found: Operand[];
    try {
      if (kind === 'folder') found = await recordingsIn(path);
      else found = kind === 'pattern' ? await recordingsLike(path) : [{ path }];
    } catch (error) {
      if (!(error instanceof ReedtraceError)) throw error;
      found = [{ path, error }];
    }
    for (const operand of found) {
      const absolute = operand.path === '-' ? '-' : resolve(operand.path);
      if (!seen.has(absolute)) operands.push(operand);
      seen.add(absolute);
    }
  }
  return { operands, many };
}
