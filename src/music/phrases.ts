import { median } from '../statistics.ts';

/** Notes that belong together: positions of the first and the last, both inclusive. */
export interface Phrase {
  readonly firstNote: number;
  readonly lastNote: number;
}

/**
 * A rest this long ends a phrase; where the notes are slow it must be longer, up to the next figure, unless it stands
 * out against the gaps from note to note, which a change of breath makes short (chosen on takes whose scores are known).
 */
const SHORTEST_REST_SEC = 0.18;
const REST_SHARE_OF_NOTE = 0.4;
const LONGEST_NEEDED_SEC = 0.6;
const SHORTEST_BREATH_SEC = 0.16;
const STANDS_OUT = 5;
/** A phrase of more notes than this is looked through for long notes to end it earlier. */
const LONG_PHRASE_NOTES = 24;
/** Such a note is this many times as long as the usual one, and this many notes stand on either side of it. */
const LONG_NOTE_STEPS = 1.9;
const FEWEST_NOTES = 4;

/**
 * Cuts a take into phrases: at its rests (a pause that stands out against the time from note to note), and inside what
 * is then still long, after long notes.
 */
export function findPhrases(
  notes: readonly { readonly onsetSec: number; readonly offsetSec: number }[],
): Phrase[] {
  if (notes.length === 0) return [];
  const steps = notes.slice(1).map((note, i) => note.onsetSec - notes[i].onsetSec);
  const gaps = notes.slice(1).map((note, i) => note.onsetSec - notes[i].offsetSec);
  const usual = steps.length > 0 ? median(steps) : 0;
  const rest = Math.min(
    Math.max(SHORTEST_REST_SEC, REST_SHARE_OF_NOTE * usual),
    Math.max(SHORTEST_BREATH_SEC, STANDS_OUT * (gaps.length > 0 ? median(gaps) : 0)),
    LONGEST_NEEDED_SEC,
  );
  const phrases: Phrase[] = [];
  let firstNote = 0;
  for (let i = 1; i <= notes.length; i++) {
    if (i < notes.length && gaps[i - 1] < rest) continue;
    for (const phrase of cutLong({ firstNote, lastNote: i - 1 }, steps, usual)) phrases.push(phrase);
    firstNote = i;
  }
  return phrases;
}

/** Halves a long phrase after its longest inner note, as long as there is one that stands out. */
function cutLong(phrase: Phrase, steps: readonly number[], usual: number): Phrase[] {
  const { firstNote, lastNote } = phrase;
  if (lastNote - firstNote + 1 <= LONG_PHRASE_NOTES) return [phrase];
  let longest = -1;
  for (let i = firstNote + FEWEST_NOTES - 1; i <= lastNote - FEWEST_NOTES; i++) {
    if (steps[i] >= LONG_NOTE_STEPS * usual && (longest < 0 || steps[i] > steps[longest])) longest = i;
  }
  if (longest < 0) return [phrase];
  return [
    ...cutLong({ firstNote, lastNote: longest }, steps, usual),
    ...cutLong({ firstNote: longest + 1, lastNote }, steps, usual),
  ];
}
