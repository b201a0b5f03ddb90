import { ReedtraceError } from '../../errors.ts';
import { readInput } from '../../files/read-input.ts';
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

const FIXES = { missing: 'check the name of the words', other: 'give a text file' };

/** Bytes that no text has; a recording or a picture is full of them. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
const NO_TEXT = /[\0-\x08\x0e-\x1a\x1c-\x1f\x7f]/;

async function readWords(path: string, io: Io): Promise<string> {
  const bytes = path === '-' ? await readAll(io.stdin) : await readInput(path, FIXES);
  const text = decodeText(bytes);
  const name = path === '-' ? 'standard input' : `'${path}'`;
  if (NO_TEXT.test(text)) {
    throw new ReedtraceError(
      'E_USAGE',
      `${name} is no text file`,
      'give plain text with a line for each phrase',
    );
  }
  if (/\p{L}/u.test(text)) return text;
  throw new ReedtraceError(
    'E_USAGE',
    `${name} holds no words`,
    'give a text file with a line for each phrase',
  );
}
