import { sameTab, type TabNote } from '../tab/tab-note.ts';
import type { Phrase } from './phrases.ts';

/** One place where a phrase differs from the earlier one that it repeats; positions in the take's notes. */
interface PhraseDifference {
  readonly kind: 'changed' | 'added' | 'missing';
  /** In this phrase; null if missing here. */
  readonly note: number | null;
  /** In the earlier phrase; null if extra here. */
  readonly other: number | null;
}

/** A phrase, and which earlier phrase it repeats. */
export interface LabelledPhrase extends Phrase {
  /** `A`, `B`, …; a repeat with small differences has the letter of the earlier phrase with a prime, `A'`. */
  readonly label: string;
  /** The earlier phrase that this one repeats, as a position in the list; null if it is new. */
  readonly like: { readonly phrase: number; readonly differences: readonly PhraseDifference[] } | null;
}

/** A note of a take. If its pitch is known, the same pitch on another hole still counts as the same tune. */
type Played = TabNote & { readonly midi?: number };

/** A phrase repeats another if this share of the longer one agrees, note by note. */
const SAME_SHARE = 0.7;
const SAME_PITCH_SEMITONES = 0.5;
/** Shorter phrases resemble each other too easily to count as repeats. */
const FEWEST_NOTES = 3;
/** A phrase is compared with this many distinct earlier ones: an hour of playing has fewer, but a whole day needs a limit. */
const MODELS_REMEMBERED = 300;

/**
 * Finds which phrases repeat earlier ones. Holes are compared, timing is not; the same pitch on another hole is reported as a
 * difference, but does not make it another tune.
 * @returns the same phrases, labelled
 */
export function labelPhrases(notes: readonly Played[], phrases: readonly Phrase[]): LabelledPhrase[] {
  const labelled: LabelledPhrase[] = [];
  const leastOthers = comparer(notes, phrases);
  let letters = 0;
  // Positions of the phrases that repeat nothing; a repeat of a repeat points to the original.
  const models: number[] = [];
  for (const phrase of phrases) {
    const recent = models.slice(-MODELS_REMEMBERED);
    const like = closestModel(notes, phrase, labelled, recent, leastOthers);
    if (like === null) {
      models.push(labelled.length);
      labelled.push({ ...phrase, label: letterName(letters++), like: null });
    } else {
      const stroke = like.differences.length > 0 ? "'" : '';
      labelled.push({ ...phrase, label: `${labelled[like.phrase].label}${stroke}`, like });
    }
  }
  return labelled;
}

/** A, B, … Z, AA, AB, … */
function letterName(index: number): string {
  const letter = String.fromCharCode(65 + (index % 26));
  return index < 26 ? letter : `${letterName(Math.floor(index / 26) - 1)}${letter}`;
}

function closestModel(
  notes: readonly Played[],
  phrase: Phrase,
  earlier: readonly LabelledPhrase[],
  models: readonly number[],
  leastOthers: Comparer,
): LabelledPhrase['like'] {
  let best: LabelledPhrase['like'] = null;
  let bestShare = SAME_SHARE;
  for (const index of models) {
    const model = earlier[index];
    if (sizeOf(model) < FEWEST_NOTES || sizeOf(phrase) < FEWEST_NOTES) continue;
    const size = Math.max(sizeOf(model), sizeOf(phrase));
    // Few phrases are alike, so most need no alignment.
    const most = Math.floor((1 - bestShare) * size + ROUNDING);
    if (leastOthers(model, phrase, most) > most) continue;
    const differences = pairNotes(notes, model, phrase).filter((pair) => pair.kind !== 'same');
    const others = differences.filter(({ note, other }) => !soundAlike(notes, note, other));
    const share = 1 - others.length / size;
    if (share < bestShare || (share === bestShare && best !== null)) continue;
    bestShare = share;
    best = { phrase: index, differences: differences as PhraseDifference[] };
  }
  return best;
}

/** Absorbs rounding errors in shares that stand for whole numbers of notes. */
const ROUNDING = 1e-9;

/** The number of notes in which two phrases differ when best aligned; if that exceeds `most`, any number above `most`. */
type Comparer = (model: Phrase, phrase: Phrase, most: number) => number;

/** Compares phrases row by row, and stops as soon as they differ by too much. */
function comparer(notes: readonly Played[], phrases: readonly Phrase[]): Comparer {
  const codes = Int32Array.from(notes, codeOf);
  const midis = Float64Array.from(notes, ({ midi }) => midi ?? Number.NaN);
  const row = new Int32Array(Math.max(0, ...phrases.map(sizeOf)) + 1);
  return (model, phrase, most) => {
    const columns = sizeOf(phrase);
    if (Math.abs(sizeOf(model) - columns) > most) return most + 1;
    // Only near the diagonal: further away, too many notes are already missing or extra (Ukkonen, Inf. Control 64, 1985).
    for (let j = 0; j <= columns; j++) row[j] = j <= most ? j : most + 1;
    for (let n = 1; n <= sizeOf(model); n++) {
      const i = model.firstNote + n - 1;
      const from = Math.max(1, n - most);
      let diagonal = row[from - 1];
      row[from - 1] = from === 1 ? n : most + 1;
      let least = row[from - 1];
      for (let j = from; j <= Math.min(columns, n + most); j++) {
        const k = phrase.firstNote + j - 1;
        const isAlike = codes[i] === codes[k] || Math.abs(midis[i] - midis[k]) < SAME_PITCH_SEMITONES;
        const cost = Math.min(diagonal + (isAlike ? 0 : 1), row[j] + 1, row[j - 1] + 1);
        diagonal = row[j];
        row[j] = cost;
        if (cost < least) least = cost;
      }
      if (least > most) return least;
    }
    return row[columns];
  };
}

/** A distinct number for each combination of hole, breath and technique. */
function codeOf({ hole, breath, bend, over }: TabNote): number {
  return ((hole * 8 + bend) * 2 + (breath === 'draw' ? 1 : 0)) * 2 + (over ? 1 : 0);
}

function soundAlike(notes: readonly Played[], note: number | null, other: number | null): boolean {
  if (note === null || other === null) return false;
  const { midi } = notes[note];
  const { midi: otherMidi } = notes[other];
  return midi !== undefined && otherMidi !== undefined && Math.abs(midi - otherMidi) < SAME_PITCH_SEMITONES;
}

function sizeOf({ firstNote, lastNote }: Phrase): number {
  return lastNote - firstNote + 1;
}

/** A note of a phrase and its counterpart in the earlier phrase. */
export interface NotePair {
  readonly kind: PhraseDifference['kind'] | 'same';
  readonly note: number | null;
  readonly other: number | null;
}

/** Fills in a row of an alignment's costs from the one before. */
function fillRow(cost: Int32Array, i: number, width: number, differ: (j: number) => number): void {
  const at = i * width;
  cost[at] = i;
  for (let j = 1; j < width; j++) {
    const changed = cost[at - width + j - 1] + differ(j);
    cost[at + j] = Math.min(changed, cost[at - width + j] + 1, cost[at + j - 1] + 1);
  }
}

/**
 * Pairs the notes of a phrase with those of the earlier one, so that a correction of one can be applied to the other: the
 * alignment with the fewest changed, extra and missing notes (Levenshtein distance; Wagner & Fischer 1974, J. ACM 21(1),
 * 168-173).
 * @returns in time order
 */
export function pairNotes(notes: readonly TabNote[], model: Phrase, phrase: Phrase): NotePair[] {
  const rows = sizeOf(model);
  const columns = sizeOf(phrase);
  const width = columns + 1;
  const cost = new Int32Array((rows + 1) * width);
  const differ = (i: number, j: number) =>
    sameTab(notes[model.firstNote + i - 1], notes[phrase.firstNote + j - 1]) ? 0 : 1;
  for (let j = 0; j <= columns; j++) cost[j] = j;
  for (let i = 1; i <= rows; i++) fillRow(cost, i, width, (j) => differ(i, j));
  const pairs: NotePair[] = [];
  let i = rows;
  let j = columns;
  while (i > 0 || j > 0) {
    const here = cost[i * width + j];
    const other = model.firstNote + i - 1;
    const note = phrase.firstNote + j - 1;
    if (i > 0 && j > 0 && here === cost[(i - 1) * width + j - 1] + differ(i, j)) {
      pairs.push({ kind: differ(i, j) === 0 ? 'same' : 'changed', note, other });
      i--;
      j--;
    } else if (i > 0 && here === cost[(i - 1) * width + j] + 1) {
      pairs.push({ kind: 'missing', note: null, other });
      i--;
    } else {
      pairs.push({ kind: 'added', note, other: null });
      j--;
    }
  }
  return pairs.reverse();
}
