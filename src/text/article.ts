/** `an A harp`, `a C harp`: words that begin with the name of a note, with the right article before it. */
export function withArticle(words: string): string {
  return `${/^[AEF](?:[b#♭♯]|\b)/.test(words) ? 'an' : 'a'} ${words}`;
}
