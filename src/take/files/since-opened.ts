import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { ReedtraceError } from '../../errors.ts';
import { decodeText } from '../../text/decode-text.ts';
import { hashTake } from './journal.ts';

/** What happened to the file of a take since this program opened it or last saved it. */
export type SinceOpened =
  | { readonly kind: 'same' }
  /** Another program wrote it; `text` is its new text, `hash` that text's hash. */
  | { readonly kind: 'changed'; readonly text: string; readonly hash: string }
  /** It was deleted or moved away. */
  | { readonly kind: 'gone' };

/**
 * Checks whether another program has changed or deleted the file of a take. The lock only stops this program, not an
 * editor, a synchronised folder or someone at another computer.
 * @param hash hash of the text that was last read or written (`hashTake`)
 * @throws the error of the system when the file is there and can't be read
 */
export async function lookSinceOpened(path: string, hash: string): Promise<SinceOpened> {
  let text: string;
  try {
    text = decodeText(await readFile(path));
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'ENOENT' || code === 'ENOTDIR') return { kind: 'gone' };
    throw error;
  }
  const now = hashTake(text);
  return now === hash ? { kind: 'same' } : { kind: 'changed', text, hash: now };
}

/**
 * Makes sure that saving overwrites nothing that another program wrote. A take that is gone may be saved again.
 * @throws ReedtraceError E_TAKE_CHANGED
 */
export async function checkUnchanged(path: string, hash: string): Promise<void> {
  if ((await lookSinceOpened(path, hash)).kind !== 'changed') return;
  throw new ReedtraceError(
    'E_TAKE_CHANGED',
    `'${basename(path)}' was changed by another program since it was opened`,
    'run the command again to read the new version',
  );
}
