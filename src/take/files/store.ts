import { basename } from 'node:path';
import { checkTarget } from '../../files/check-target.ts';
import { readInput } from '../../files/read-input.ts';
import { type FileToWrite, type WriteOptions, writeWhole } from '../../files/write-whole.ts';
import { decodeText } from '../../text/decode-text.ts';
import { formatTake } from '../format.ts';
import type { Take } from '../schema.ts';

/**
 * Reads a take file.
 * @throws ReedtraceError E_NOT_FOUND, E_NOT_A_FILE, E_TAKE_INVALID, E_TAKE_NEWER
 */
export async function readTake(path: string): Promise<Take> {
  return (await readTakeText(path)).take;
}

/** Reads a take file together with its text, for `hashTake`. */
export async function readTakeText(path: string): Promise<{ take: Take; text: string }> {
  const text = decodeText(await readInput(path, { other: 'give a .take.json file' }));
  // Loaded here: checking needs zod, which takes longer to load than everything else, and writing does not need it.
  const { parseTake } = await import('../parse.ts');
  return { take: parseTake(text, basename(path)), text };
}

/** How a take is written: over another only when forced. */
const takeWriting = (force: boolean): WriteOptions => ({
  replace: force,
  existsFix:
    '`reedtrace correct` corrects notes and harp, `reedtrace export --words` adds words; `--force` transcribes again without your corrections, `--out` saves elsewhere, `--no-save` only prints',
});

/**
 * Makes sure that a take can be written, before any long work.
 * @param force  allow an existing file to be replaced
 * @throws ReedtraceError E_EXISTS; E_CANNOT_WRITE when the place can't take a file
 */
export async function checkWritable(path: string, force: boolean): Promise<void> {
  await checkTarget(path, takeWriting(force));
}

/**
 * Writes a take whole or not at all, and reads it back: when this returns, the take is on the disk.
 * @returns bytes written
 * @throws ReedtraceError E_EXISTS when the file exists and `force` is not set; E_CANNOT_WRITE
 */
export async function writeTake(path: string, take: Take, options: { force: boolean }): Promise<number> {
  await checkWritable(path, options.force);
  const content = formatTake(take);
  await writeWhole([{ path, content, ...takeWriting(options.force) }]);
  return Buffer.byteLength(content);
}

/** A changed take, to be written over the old one together with other files. */
export function takeFile(path: string, take: Take): FileToWrite {
  return { path, content: formatTake(take), ...takeWriting(true) };
}
