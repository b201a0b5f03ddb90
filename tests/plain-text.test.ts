import { describe, expect, it } from 'vitest';
import { plainText, shortened, visibleText } from '../src/plain-text.ts';

describe('text that is printed', () => {
  it('is unchanged if it has no control sequences', () => {
    for (const text of ['Old Joe Clark', 'Ça ira', 'שלום', 'さくら', '👩‍🎤 4 -4']) {
      expect(plainText(text)).toBe(text);
      expect(visibleText(text)).toBe(text);
    }
  });

  // The marks of Unicode Standard Annex 9: https://www.unicode.org/reports/tr9/
  it('loses control characters and direction marks, and keeps its spaces', () => {
    expect(plainText('a\tb\r\nc\u001b[31md\u009b2J\u202ee\u2066f\u200e')).toBe('a b  c[31md2Jef');
  });

  it('shows control characters in file names', () => {
    expect(visibleText('a\u001b[31m\u202eb\n\u0085')).toBe('a\\x1b[31m\\u202eb\\x0a\\x85');
  });

  it('keeps both ends if it is too long', () => {
    expect(shortened('abcdefghij', 5)).toBe('ab…ij');
    expect(shortened('abc', 5)).toBe('abc');
  });
});
