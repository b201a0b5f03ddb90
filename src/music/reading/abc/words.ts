/** A note that may take a syllable. */
export interface SungNote {
  /** Position among all notes. */
  readonly index: number;
  /** Bar lines before it. */
  readonly bar: number;
}

/** A syllable or a sign: `-` ends a syllable within a word, `_` holds it, `*` skips a note, `|` jumps to the next bar. */
const SYLLABLE = /\||\*|_|-|(?:\\[-_*|]|[^\s|*_-])+/g;

/**
 * Assigns the syllables of a `w:` line to notes (ABC 2.1, section 5). `~` joins words on one note; `\-` is a hyphen to be
 * printed, as are `\%`, `\_`, `\*` and `\|`.
 * @returns `[note index, syllable]`, with a hyphen after a syllable that its word continues
 */
export function alignWords(text: string, notes: readonly SungNote[]): [number, string][] {
  const words: [number, string][] = [];
  let at = 0;
  let bar = notes[0]?.bar ?? 0;
  let open = false;
  for (const match of text.matchAll(SYLLABLE)) {
    const sign = match[0];
    if (sign === '|') {
      bar++;
      while (at < notes.length && notes[at].bar < bar) at++;
      open = false;
    } else if (sign === '*' || sign === '_') {
      at++;
      open = false;
    } else if (sign === '-') {
      // Directly after a syllable the hyphen belongs to it; after another hyphen or a space it holds the syllable.
      const last = words[words.length - 1];
      if (open && last) last[1] += '-';
      else at++;
      open = false;
    } else {
      if (at < notes.length) {
        words.push([notes[at].index, sign.replace(/\\([-_*|%])/g, '$1').replace(/~/g, ' ')]);
        bar = Math.max(bar, notes[at].bar);
      }
      open = at < notes.length;
      at++;
    }
  }
  return words;
}
