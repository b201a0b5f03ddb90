import { ReedtraceError } from '../../errors.ts';
import { readInput } from '../../files/read-input.ts';
import { guessLanguage } from '../../music/words/guess-language.ts';
import { type Language, languageName, loadLanguage } from '../../music/words/languages.ts';
import { readStanzas } from '../../music/words/stanzas.ts';
import type { Splitting } from '../../music/words/verses.ts';
import { decodeText } from '../../text/decode-text.ts';
import { type Io, readAll } from '../terminal/io.ts';

/** Words from `--words`, and how they are split. */
export interface GivenWords {
  readonly text: string;
  /** Null splits at the player's hyphens only; several languages each split their own stanzas. */
  readonly language: Splitting;
  /** A remark on how the language was chosen; null if it was named. */
  readonly remark: string | null;
}

/** The language used if the words don't show theirs. */
const USUAL_LANGUAGE = 'en';

/**
 * Reads the words, and loads the language that splits them.
 * @param lang  a language's code, `none`, or undefined to guess it
 * @throws ReedtraceError E_NOT_FOUND, E_NOT_A_FILE; E_USAGE when there is no word in it, or for another language
 */
export async function readGivenWords(path: string, lang: string | undefined, io: Io): Promise<GivenWords> {
  const text = await readWords(path, io);
  if (lang === 'none') return { text, language: null, remark: null };
  const told = lang === undefined ? null : await loadLanguage(lang);
  const guessed = told === null ? guessLanguage(text) : null;
  const whole = told ?? (await loadLanguage(guessed ?? USUAL_LANGUAGE));
  const byStanza = await languagesOf(text, whole, told === null);
  const languages = [...new Set(byStanza.values())];
  if (told !== null || languages.length > 1 || languages[0] !== whole) {
    const names = languages.map(({ code }) => languageName(code)).join(' and ');
    return {
      text,
      language: (stanza) => byStanza.get(stanza.lines.join('\n')) ?? whole,
      remark:
        told !== null && languages.every((language) => language === told)
          ? null
          : `words split verse by verse as ${names} (a label such as \`Verse 2 (${whole.code}):\` names the language of a verse, --lang that of all others)`,
    };
  }
  const how = guessed === null ? 'which language they are in is not clear' : 'by its most common words';
  return {
    text,
    language: whole,
    remark: `words split as ${languageName(whole.code)} (${how}; --lang names another)`,
  };
}

const FIXES = { missing: 'check the name of the words', other: 'give a text file' };

/** Bytes that no text has, but recordings and pictures have many of. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
const NO_TEXT = /[\0-\x08\x0e-\x1a\x1c-\x1f\x7f]/;
/**
 * The language of each line, stanza by stanza: the one in its label, else the one guessed from its words (if wanted),
 * else that of the whole text.
 */
async function languagesOf(text: string, whole: Language, guess: boolean): Promise<Map<string, Language>> {
  const loaded = new Map<string, Language>([[whole.code, whole]]);
  const found = new Map<string, Language>();
  for (const { lines, language } of readStanzas(text.normalize('NFC'))) {
    const words = lines.join('\n');
    const tells = guess && lines.length >= FEWEST_LINES;
    const code = language ?? (tells ? guessLanguage(words) : null) ?? whole.code;
    const known = loaded.get(code) ?? (await loadLanguage(code));
    loaded.set(code, known);
    found.set(words, known);
  }
  return found;
}

/** The language of fewer lines than this can't be guessed. */
const FEWEST_LINES = 2;

async function readWords(path: string, io: Io): Promise<string> {
  const bytes = path === '-' ? await readAll(io.stdin) : await readInput(path, FIXES);
  const text = decodeText(bytes);
  const name = path === '-' ? 'standard input' : `'${path}'`;
  if (NO_TEXT.test(text)) {
    throw new ReedtraceError(
      'E_USAGE',
      `${name} is not a text file`,
      'give plain text with a line for each phrase',
    );
  }
  if (/\p{L}/u.test(text)) return text;
  throw new ReedtraceError('E_USAGE', `${name} has no words`, 'give a text file with a line for each phrase');
}
