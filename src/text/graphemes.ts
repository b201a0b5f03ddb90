const graphemes = new Intl.Segmenter(undefined, { granularity: 'grapheme' });

/** What a reader sees as single characters. */
export function splitGraphemes(text: string): string[] {
  return [...graphemes.segment(text)].map(({ segment }) => segment);
}
