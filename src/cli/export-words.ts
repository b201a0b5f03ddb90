import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { ReedtraceError } from '../errors.ts';
import { decodeText } from '../music/read/fault.ts';
import type { Language } from '../music/words/languages.ts';
import { applyEdit, type Edit, openEdits } from '../take/edits.ts';
import { hashTake, journalPath, loadJournal, readJournal } from '../take/journal.ts';
import { lockTake, type TakeLock } from '../take/lock.ts';
import { diffTakes } from '../take/patch.ts';
import { parseTake, type Take } from '../take/schema.ts';
import { writeTake } from '../take/store.ts';
import type { Io } from './io.ts';

/** Words that `--words` named, and how they are split. */
export interface GivenWords {
  readonly text: string;
  /** Null splits by the player's own hyphens only. */
  readonly language: Language | null;
}

/**
 * Reads the words, and loads the language that splits them.
 * @param lang  a language's code, or `none`
 * @throws ReedtraceError E_NOT_FOUND, E_NOT_A_FILE; E_USAGE when there is no word in it, or for another language
 */
export async function readGivenWords(path: string, lang: string, io: Io): Promise<GivenWords> {
  const text = await readWords(path, io);
  if (lang === 'none') return { text, language: null };
  const { loadLanguage } = await import('../music/words/languages.ts');
  return { text, language: await loadLanguage(lang) };
}

async function readWords(path: string, io: Io): Promise<string> {
  const bytes = path === '-' ? await readAll(io.stdin) : await readBytes(path);
  const text = decodeText(bytes);
  if (/\p{L}/u.test(text)) return text;
  const name = path === '-' ? 'standard input' : `'${path}'`;
  throw new ReedtraceError(
    'E_USAGE',
    `${name} holds no words`,
    'give a text file with a line for each phrase',
  );
}

async function readBytes(path: string): Promise<Uint8Array> {
  return readFile(path).catch((cause: NodeJS.ErrnoException) => {
    if (cause.code === 'ENOENT') {
      throw new ReedtraceError('E_NOT_FOUND', `'${path}' does not exist`, 'check the name of the words', {
        cause,
      });
    }
    throw new ReedtraceError('E_NOT_A_FILE', `'${path}' can't be read (${cause.code})`, 'give a text file', {
      cause,
    });
  });
}

/** All of standard input. */
export async function readAll(stdin: Io['stdin']): Promise<Buffer> {
  const chunks: Buffer[] = [];
  for await (const chunk of stdin) chunks.push(Buffer.from(chunk));
  return Buffer.concat(chunks);
}

/** A take that is held for this program while its words are laid. */
export interface HeldTake {
  readonly take: Take;
  /** Writes the take with these words, as one edit that can be undone; false when it has them already. */
  keep(words: Take['words'], now: Date): Promise<boolean>;
  release(): void;
}

/**
 * Takes the lock of a take and reads it.
 * @throws ReedtraceError E_TAKE_IN_USE also when changes of the correction screen wait in its journal; E_CANNOT_WRITE
 */
export async function holdTake(path: string): Promise<HeldTake> {
  let lock: TakeLock;
  try {
    lock = lockTake(path);
  } catch (error) {
    if (!(error instanceof ReedtraceError)) throw error;
    const fix = `${error.fix}, or leave the take as it is with \`--no-save\``;
    throw new ReedtraceError(error.code, error.message, fix, { cause: error });
  }
  try {
    const text = await readFile(path, 'utf8');
    const take = parseTake(text, basename(path));
    if (readJournal(await loadJournal(path), take, hashTake(text)).kind !== 'nothing') {
      throw new ReedtraceError(
        'E_TAKE_IN_USE',
        `changes that are not in the take yet wait in '${journalPath(path)}'`,
        'open it with `reedtrace correct` first, or leave the take as it is with `--no-save`',
      );
    }
    return { take, keep: (words, now) => keepWords(path, take, words, now), release: () => lock.release() };
  } catch (error) {
    lock.release();
    throw error;
  }
}

async function keepWords(path: string, take: Take, words: Take['words'], now: Date): Promise<boolean> {
  const patch = diffTakes(take, { ...take, words });
  if (patch === null) return false;
  const seq = take.edits.length + 1;
  const line: Edit = { seq, at: now.toISOString(), by: 'player', what: 'words', patch };
  await writeTake(path, applyEdit(openEdits(take), line).take, { force: true });
  return true;
}
