import { stat } from 'node:fs/promises';
import { basename, dirname, extname, join } from 'node:path';
import { ReedtraceError } from '../../errors.ts';

const TAKE_EXTENSION = '.take.json';

/** File name of the take of a recording: `take.wav` gives `take.take.json`; piped input gives `recording.take.json`. */
export function takeName(recording: string): string {
  if (recording === '-') return `recording${TAKE_EXTENSION}`;
  const name = basename(recording);
  return `${basename(name, extname(name))}${TAKE_EXTENSION}`;
}

/** Where takes are saved: nowhere, next to each recording, in one folder, or (for one recording) in one file. */
export type Destination =
  | { readonly kind: 'nowhere' }
  | { readonly kind: 'beside' }
  | { readonly kind: 'folder'; readonly folder: string }
  | { readonly kind: 'file'; readonly path: string };

async function isFolder(path: string): Promise<boolean> {
  return stat(path).then(
    (info) => info.isDirectory(),
    () => false,
  );
}

/**
 * Reads `--out`, `--no-save` and `--json` together.
 * @param many  more than one recording, or a folder of them: then `--out` is a folder
 * @throws ReedtraceError E_USAGE if they contradict each other
 */
export async function chooseDestination(
  options: { out?: string | undefined; save: boolean; json: boolean },
  many: boolean,
): Promise<Destination> {
  const { out, save, json } = options;
  if (out === undefined) return save && !json ? { kind: 'beside' } : { kind: 'nowhere' };
  if (!save) {
    throw new ReedtraceError(
      'E_USAGE',
      "`--out` and `--no-save` can't be used together",
      'leave one of them out',
    );
  }
  if (out === '-') {
    throw new ReedtraceError('E_USAGE', '`--out -` is not supported', 'use `--json` to print the take');
  }
  if (many || /[/\\]$/.test(out) || (await isFolder(out))) return { kind: 'folder', folder: out };
  return { kind: 'file', path: out };
}

/** Path of the take of one recording; null if none is saved. */
export function takePath(recording: string, destination: Destination): string | null {
  switch (destination.kind) {
    case 'nowhere':
      return null;
    case 'beside':
      // Standard input has no folder, and a file with a made-up name would be a surprise.
      return recording === '-' ? null : join(dirname(recording), takeName(recording));
    case 'folder':
      return join(destination.folder, takeName(recording));
    case 'file':
      return destination.path;
  }
}
