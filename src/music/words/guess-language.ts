import { LANGUAGES, type LanguageCode } from './languages.ts';

/**
 * Function words, which no text lacks for long. Words that several of these languages share are left out where they decide
 * nothing (common knowledge, no source).
 */
const COMMON: Readonly<Record<LanguageCode, string>> = {
  en: "the and of to is my that was with i you for how it on me your all we she they have when this from but oh i'm don't there be",
  de: 'der die das und ist ich nicht ein eine zu mit den dem auf wir du sie mein dein sind wie vom zum im es wenn schon auch alle aus',
  fr: 'le les et un une des est je tu il elle nous vous dans pas sur que qui mon ma mes ton ta du au aux avec pour c’est',
  es: 'el los las y un una es yo tú que en no por con mi su del al lo muy cuando está como pero más para',
  it: 'il lo gli le e un una è io tu che non per con mi di da del della nel sul al sono più ma come sei ti',
  pt: 'o os as e um uma é eu tu que em não por com meu minha do da no na dos das ao ele você mais para nos',
  nl: 'de het een en is ik jij niet van met op mijn zijn dat wij ze voor naar hij aan maar als wat daar zie de',
  sv: 'och att det en ett är jag du inte med på min din som vi för den har till av så var när där',
  da: 'og at det en et er jeg du ikke med på min din som vi for den har til af så var når der',
  pl: 'i w na się nie że z do to jest ja ty on mój moja jak po za co od dla są tak ale gdy już',
};
/** Letters that a language has and English lacks; each counts half as much as a common word. */
const LETTERS: Readonly<Record<LanguageCode, RegExp | null>> = {
  en: null,
  de: /[äöüß]/g,
  fr: /[àâçèêëîïœùû]/g,
  es: /[ñ¿¡]/g,
  it: /[àèìòù]/g,
  pt: /[ãõç]/g,
  nl: /ij/g,
  sv: /[åäö]/g,
  da: /[åæø]/g,
  pl: /[ąćęłńśźż]/g,
};
const LETTER_WEIGHT = 0.5;
/** A language must lead the next one by this: one common word. */
const CLEAR_LEAD = 1;

/**
 * Guesses the language of words from the most common words of each and from letters that few have.
 * @returns null if none leads clearly, as with a word or two
 */
export function guessLanguage(text: string): LanguageCode | null {
  const clean = text.normalize('NFC').toLowerCase().replaceAll('’', "'").replaceAll(/[-_]/g, '');
  const words = clean.match(/[\p{L}']+/gu) ?? [];
  const scores = LANGUAGES.map((code): readonly [LanguageCode, number] => {
    const common = new Set(COMMON[code].replaceAll('’', "'").split(' '));
    const letters = LETTERS[code];
    const found = words.filter((word) => common.has(word)).length;
    return [code, found + (letters === null ? 0 : LETTER_WEIGHT * (clean.match(letters)?.length ?? 0))];
  }).sort((a, b) => b[1] - a[1]);
  return scores[0][1] - scores[1][1] >= CLEAR_LEAD ? scores[0][0] : null;
}
