/** `an A harp`, `a C harp`: puts the right article before words that begin with the name of a note. */
export function withArticle(words: string): string {
  return `${/^[AEF](?:[b#♭♯]|\b)/.test(words) ? 'an' : 'a'} ${words}`;
}
