import { sameTab, type TabNote } from '../tab/tab-note.ts';
import type { Phrase } from './phrases.ts';

/** A stretch of whole lines with the player's name for it. */
export interface Section {
  readonly name: string;
  /** Position of its first line. */
  readonly firstPhrase: number;
}

/** With more ways to divide the lines than this, sections are made as equal in length as possible. */
const MOST_WAYS = 30_000;
/** At most this many notes of each line are compared. */
const MOST_NOTES = 120;
/** The cost of two sections of different names being alike, relative to two of the same name being different. */
const DIFFERENT_NAMES = 0.25;
/** The cost of a section with twice as many notes as the average. */
const UNEVEN = 0.15;

/**
 * Divides the lines of a tune into named sections, so that sections of the same name are played alike, sections of different
 * names are not, and none is much longer than the others.
 * @param names  in the order of the sections, such as `A A B A`
 * @returns null if there are fewer lines than names
 */
export function findSections(
  notes: readonly TabNote[],
  phrases: readonly Phrase[],
  names: readonly string[],
): Section[] | null {
  if (names.length === 0 || phrases.length < names.length) return null;
  const likeness = new Likeness(notes, phrases);
  const usual = notes.length / names.length;
  let best: { cost: number; starts: readonly number[] } | null = null;
  for (const starts of waysToPart(phrases.length, names.length)) {
    const cost = costOf(starts, names, phrases, likeness, usual);
    if (best === null || cost < best.cost - 1e-9) best = { cost, starts };
  }
  return best === null ? null : names.map((name, i) => ({ name, firstPhrase: best.starts[i] }));
}

function costOf(
  starts: readonly number[],
  names: readonly string[],
  phrases: readonly Phrase[],
  likeness: Likeness,
  usual: number,
): number {
  const endOf = (i: number) => (starts[i + 1] ?? phrases.length) - 1;
  let cost = 0;
  for (let i = 0; i < starts.length; i++) {
    const size = phrases[endOf(i)].lastNote - phrases[starts[i]].firstNote + 1;
    cost += UNEVEN * Math.abs(Math.log2(size / usual));
    const model = names.indexOf(names[i]);
    if (model < i) cost += 1 - likeness.of(starts[model], endOf(model), starts[i], endOf(i));
    for (let j = 0; j < i; j++) {
      if (names[j] === names[i] || names.indexOf(names[j]) !== j || model < i) continue;
      cost += DIFFERENT_NAMES * likeness.of(starts[j], endOf(j), starts[i], endOf(i));
    }
  }
  return cost;
}

/** First lines of `count` sections: all possibilities or, if there are too many, equal parts. */
function* waysToPart(lines: number, count: number): Generator<number[]> {
  let ways = 1;
  for (let i = 1; i < count; i++) ways *= (lines - i) / i;
  if (ways > MOST_WAYS) {
    yield Array.from({ length: count }, (_, i) => Math.floor((i * lines) / count));
    return;
  }
  const starts = Array.from({ length: count }, (_, i) => i);
  for (;;) {
    yield [...starts];
    let i = count - 1;
    while (i > 0 && starts[i] === lines - count + i) i--;
    if (i <= 0) return;
    starts[i]++;
    for (let j = i + 1; j < count; j++) starts[j] = starts[j - 1] + 1;
  }
}

/** How alike stretches of lines are; each pair is worked out once. */
class Likeness {
  readonly #notes: readonly TabNote[];
  readonly #phrases: readonly Phrase[];
  readonly #known = new Map<string, number>();

  constructor(notes: readonly TabNote[], phrases: readonly Phrase[]) {
    this.#notes = notes;
    this.#phrases = phrases;
  }

  /** Share of the longer stretch's notes that agree in order (by Levenshtein distance), [0, 1]. */
  of(firstA: number, lastA: number, firstB: number, lastB: number): number {
    const key = `${firstA} ${lastA} ${firstB} ${lastB}`;
    const known = this.#known.get(key);
    if (known !== undefined) return known;
    const a = this.#stretch(firstA, lastA);
    const b = this.#stretch(firstB, lastB);
    const share = 1 - distance(a, b) / Math.max(a.length, b.length);
    this.#known.set(key, share);
    return share;
  }

  #stretch(first: number, last: number): readonly TabNote[] {
    const { firstNote } = this.#phrases[first];
    return this.#notes.slice(firstNote, Math.min(this.#phrases[last].lastNote + 1, firstNote + MOST_NOTES));
  }
}

function distance(a: readonly TabNote[], b: readonly TabNote[]): number {
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (const [i, note] of a.entries()) {
    const next = [i + 1];
    for (const [j, other] of b.entries()) {
      next.push(Math.min(row[j] + (sameTab(note, other) ? 0 : 1), row[j + 1] + 1, next[j] + 1));
    }
    row = next;
  }
  return row[b.length];
}
