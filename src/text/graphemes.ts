const graphemes = new Intl.Segmenter(undefined, { granularity: 'grapheme' });

/** Splits text into what a reader sees as single characters. */
export function splitGraphemes(text: string): string[] {
  return [...graphemes.segment(text)].map(({ segment }) => segment);
}
