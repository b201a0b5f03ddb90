import { ReedtraceError } from '../../errors.ts';

/** Codes of the languages whose words can be split (ISO 639-1). */
export const LANGUAGES = ['en', 'de', 'fr', 'es', 'it', 'pt', 'nl', 'sv', 'da', 'pl'] as const;
export type LanguageCode = (typeof LANGUAGES)[number];

/** The English name of a language: `German`. */
export function languageName(code: LanguageCode): string {
  return new Intl.DisplayNames('en', { type: 'language' }).of(code) ?? code;
}

/** What is needed to split the words of a language as they are sung. */
export interface Language {
  readonly code: LanguageCode;
  /** Splits with `-` by the hyphenation patterns that typesetters use. */
  hyphenate(word: string): string;
  /** How a word is pronounced, in CMU dictionary notation; undefined for unknown words, and in all languages but English. */
  pronounce(word: string): string | undefined;
  /** Letters that can be the vowel of a syllable, in lower case. */
  readonly vowels: string;
  /** Two vowels between which a syllable ends. */
  readonly hiatus: RegExp | null;
  /** Endings whose `e` is not sung. */
  readonly silentEnd: RegExp | null;
  /** Words that the rules split wrongly, with the right split. */
  readonly exceptions: readonly string[];
  /** Hyphens that belong to the spelling and are not splits made by hand; null if they need no care. */
  readonly spelled: RegExp | null;
  /** The end of one word and the start of the next, with a space between, that are often sung as one syllable. */
  readonly meets: RegExp | null;
  /** The same, where the first of the two vowels is not sung at all. */
  readonly elides: RegExp | null;
}

type Rules = Omit<Language, 'code' | 'hyphenate' | 'pronounce'>;

const PLAIN: Rules = {
  vowels: 'aeiouyàáâãäåæèéêëìíîïòóôõöøùúûüýœąęó',
  hiatus: null,
  silentEnd: null,
  exceptions: [],
  spelled: null,
  meets: null,
  elides: null,
};

/** In verse, vowels that meet between words form one syllable (sinalefa), even across a silent h. */
const SINALEFA = /[aeiouáéíóúàèìòùâêôãõ] (?:h?[aeiouáéíóúàèìòùâêô]|y$)/iu;

/** Adjacent strong vowels, and accented weak ones, form separate syllables. */
const IBERIAN_HIATUS = /[aeoáéóãõ][aeoáéó]|[íú][aeoáéó]|[aeoáéó][íú]/;

const RULES: Readonly<Record<LanguageCode, Rules>> = {
  en: {
    ...PLAIN,
    vowels: 'aeiouy',
    silentEnd: /(?:[^aeiouyl]|[aeiouy][rs]?l)e$|(?:[^aeiouytd])ed$|(?:[^aeiouyscxzhgl]|[aeiouy][rs]?l)es$/,
    exceptions: [
      'eve-ning',
      'ev-ery',
      'eve-ry-one',
      'ev-ery-thing',
      'e-ven',
      'love-ly',
      'heav-en',
      'be-ing',
      'ly-ing',
      'sci-ence',
      'qui-et',
      'po-em',
      'li-on',
      'vi-o-let',
      'o-cean',
      'a-cre',
      'eye',
      'eyes',
      'i-de-a',
      'ev-ery-bod-y',
      'some-one',
      'some-thing',
      'some-times',
      'some-where',
      'some-how',
      'some-day',
      'some-bod-y',
      'lone-some',
      'some',
      'home-land',
      'home-ward',
      'there-fore',
      'grate-ful',
      'hope-ful',
      'care-ful',
      'peace-ful',
      'fire-side',
      'fire-light',
    ],
  },
  de: { ...PLAIN, hiatus: /(?!ei|ai|au|eu|äu|ie|oi|aa|ee|oo|ey|ay)[aeiouyäöü][aeiouyäöü]/ },
  fr: {
    ...PLAIN,
    hiatus: /é[aeiouy]|[aeiou]ï|[aeiou]ë/,
    spelled:
      /-(?:t-)?(?:moi|toi|lui|leurs?|l[ae]s?|nous|vous|y|en|je|tu|ils?|elles?|on|ce|ci|là|m[eê]mes?)$/iu,
    // In French verse, a mute e before a vowel is not sung.
    elides: /e h?[aeiouyàâéèêëîïôûœ]/iu,
  },
  es: { ...PLAIN, vowels: 'aeiouáéíóúü', hiatus: IBERIAN_HIATUS, meets: SINALEFA },
  it: {
    ...PLAIN,
    vowels: 'aeiouàèéìòù',
    hiatus: /[aeo][aeo]|ì[aeo]|[aeo]ì/,
    meets: SINALEFA,
    exceptions: [
      'lu-ci-a',
      'ma-ri-a',
      'mi-o',
      'mi-a',
      'di-o',
      'zi-o',
      'vi-a',
      'po-e-si-a',
      'al-le-gri-a',
      'com-pa-gni-a',
      'a-iuo-la',
    ],
  },
  pt: {
    ...PLAIN,
    meets: SINALEFA,
    spelled: /-(?:me|te|se|nos|vos|lhes?|l?[oa]s?)$/iu,
    hiatus: /(?!ão|ãe|õe)[aeoáéóâêôã][aeoáéó]|[íú][aeo]|[aeo][íú]/,
  },
  nl: { ...PLAIN, hiatus: /[eio][ëïö]/ },
  sv: PLAIN,
  da: PLAIN,
  pl: { ...PLAIN, vowels: 'aeouyąęó', hiatus: /[aeouyąęó][aeouyąęó]/ },
};

const load: Readonly<Record<LanguageCode, () => Promise<typeof import('hyphen/en-us/index.js')>>> = {
  en: () => import('hyphen/en-us/index.js'),
  de: () => import('hyphen/de/index.js'),
  fr: () => import('hyphen/fr/index.js'),
  es: () => import('hyphen/es/index.js'),
  it: () => import('hyphen/it/index.js'),
  pt: () => import('hyphen/pt/index.js'),
  nl: () => import('hyphen/nl/index.js'),
  sv: () => import('hyphen/sv/index.js'),
  da: () => import('hyphen/da/index.js'),
  pl: () => import('hyphen/pl/index.js'),
};

/**
 * Loads the hyphenation patterns of a language.
 * @param code  `en`, `de`, …; a region (`en-GB`) is ignored
 * @throws ReedtraceError E_USAGE listing the languages
 */
export async function loadLanguage(code: string): Promise<Language> {
  const short = code.toLowerCase().split(/[-_]/)[0];
  const known = LANGUAGES.find((each) => each === short);
  if (known === undefined) {
    throw new ReedtraceError(
      'E_USAGE',
      `'${code}' is not a language whose words can be split`,
      `use one of ${LANGUAGES.join(', ')}, or split the words yourself with hyphens and use --lang none`,
    );
  }
  const [{ default: patterns }, pronounce] = await Promise.all([load[known](), loadPronunciation(known)]);
  return {
    code: known,
    ...RULES[known],
    pronounce,
    hyphenate: (word) => patterns.hyphenateSync(word, { hyphenChar: '-', minWordLength: 2 }),
  };
}

/** Only English needs a dictionary: its spelling shows neither mute vowels nor stress. */
async function loadPronunciation(code: LanguageCode): Promise<Language['pronounce']> {
  if (code !== 'en') return () => undefined;
  const { dictionary } = await import('cmu-pronouncing-dictionary');
  return (word) => {
    const key = word.toLowerCase().replaceAll('’', "'");
    return Object.hasOwn(dictionary, key) ? dictionary[key] : undefined;
  };
}
