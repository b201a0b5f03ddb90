import { readFile } from 'node:fs/promises';
import { ReedtraceError } from '../../errors.ts';
import { decodeText } from '../../music/reading/fault.ts';
import { guessLanguage } from '../../music/words/guess-language.ts';
import { type Language, languageName, loadLanguage } from '../../music/words/languages.ts';
import { type Io, readAll } from '../terminal/io.ts';

/** Words that `--words` named, and how they are split. */
export interface GivenWords {
  readonly text: string;
  /** Null splits by the player's own hyphens only. */
  readonly language: Language | null;
  /** How the language was chosen, for the player; null when it was named. */
  readonly remark: string | null;
}

/** Split as this when the words don't tell their language. */
const USUAL_LANGUAGE = 'en';

/**
 * Reads the words, and loads the language that splits them.
 * @param lang  a language's code, `none`, or undefined to guess it
 * @throws ReedtraceError E_NOT_FOUND, E_NOT_A_FILE; E_USAGE when there is no word in it, or for another language
 */
export async function readGivenWords(path: string, lang: string | undefined, io: Io): Promise<GivenWords> {
  const text = await readWords(path, io);
  if (lang === 'none') return { text, language: null, remark: null };
  if (lang !== undefined) return { text, language: await loadLanguage(lang), remark: null };
  const guessed = guessLanguage(text);
  const language = await loadLanguage(guessed ?? USUAL_LANGUAGE);
  const how = guessed === null ? 'which language they are in is not clear' : 'by its most common words';
  return {
    text,
    language,
    remark: `words split as ${languageName(language.code)} (${how}; --lang names another)`,
  };
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
