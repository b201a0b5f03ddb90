/** Notes that belong together: positions of the first and the last, both inclusive. */
export interface Phrase {
  readonly firstNote: number;
  readonly lastNote: number;
}

/** A rest this long ends a phrase; longer where the notes are slow. */
const SHORTEST_REST_SEC = 0.18;
const REST_SHARE_OF_NOTE = 0.4;

/** Cuts a take into phrases at its rests: a pause that stands out against the time from note to note. */
export function findPhrases(
  notes: readonly { readonly onsetSec: number; readonly offsetSec: number }[],
): Phrase[] {
  if (notes.length === 0) return [];
  const steps = notes.slice(1).map((note, i) => note.onsetSec - notes[i].onsetSec);
  steps.sort((a, b) => a - b);
  const usual = steps.length > 0 ? steps[steps.length >> 1] : 0;
  const rest = Math.max(SHORTEST_REST_SEC, REST_SHARE_OF_NOTE * usual);
  const phrases: Phrase[] = [];
  let firstNote = 0;
  for (let i = 1; i <= notes.length; i++) {
    if (i < notes.length && notes[i].onsetSec - notes[i - 1].offsetSec < rest) continue;
    phrases.push({ firstNote, lastNote: i - 1 });
    firstNote = i;
  }
  return phrases;
}
