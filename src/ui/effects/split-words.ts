/** The language by which words are split if theirs is unclear. */
const USUAL_LANGUAGE = 'en';

/**
 * A line with hyphens between the syllables of its words; rules are loaded when first needed.
 * @param language null to guess it from the words
 * @returns the line, and the language by which it was split
 * @throws ReedtraceError E_USAGE for a language without rules
 */
export async function splitWords(
  line: string,
  language: string | null,
): Promise<{ readonly text: string; readonly code: string }> {
  const [{ loadLanguage }, { splitWord }, { guessLanguage }] = await Promise.all([
    import('../../music/words/languages.ts'),
    import('../../music/words/syllables.ts'),
    import('../../music/words/guess-language.ts'),
  ]);
  const rules = await loadLanguage(language ?? guessLanguage(line) ?? USUAL_LANGUAGE);
  return { text: line.replace(/[^\s_*~]+/gu, (word) => splitWord(word, rules).join('-')), code: rules.code };
}
