import { expect, it } from 'vitest';
import { withArticle } from '../../src/text/article.ts';

it.each([
  ['A harp', 'an A harp'],
  ['Eb harp', 'an Eb harp'],
  ['F# harp', 'an F# harp'],
  ['C harp', 'a C harp'],
  ['Bb harp in another tuning', 'a Bb harp in another tuning'],
  ['low F harp', 'a low F harp'],
])('%s: %s', (words, said) => {
  expect(withArticle(words)).toBe(said);
});
