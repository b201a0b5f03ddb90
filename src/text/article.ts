/** `an A harp`, `a C harp`: words that begin with the name of a note, with the article that is said before it. */
export function withArticle(words: string): string {
  return `${/^[AEF](?:[b#♭♯]|\b)/.test(words) ? 'an' : 'a'} ${words}`;
}
