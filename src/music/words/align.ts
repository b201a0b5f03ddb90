import type { SungSyllable } from './verses.ts';

/** How well words may go under a note: costs in natural log of odds, each against its being neither. */
export interface NoteCosts {
  /** A syllable that is not the first of its line begins here. */
  readonly begin: number;
  /** A line begins here. */
  readonly line: number;
  /** The syllable before is held over this note. */
  readonly hold: number;
  /** Beside that, a stressed or an unstressed syllable begins here. */
  readonly stressed: number;
  readonly unstressed: number;
}

/** A syllable with where it goes: `note` null when it found none; `joined` when it is sung with the one before. */
export interface Placed {
  readonly note: number | null;
  readonly holds: number;
  readonly joined: boolean;
}

export interface Alignment {
  readonly cost: number;
  /** By line, one for each syllable. */
  readonly lines: readonly (readonly Placed[])[];
}

/** A syllable is held over no more notes than this. */
const MOST_HOLDS = 9;
/** No note for a syllable, rather a later one of the text; for a whole line, to begin with and for each syllable. */
const DROPPED = 4.5;
const DROPPED_LATER = 0.02;
const LINE_DROPPED = 5;
const LINE_SYLLABLE_DROPPED = 0.8;
/**
 * Two syllables on one note: of words that meet with their vowels; and of one word that the rules of its language split, which
 * may be mute or not, or are told but better there than dropped.
 */
const MEETING = 0.6;
const IN_WORD = { open: 3, told: 4.3 } as const;
/** Notes without words between two lines, before the first, or after the last: to begin with, and each. */
const SILENT = 4;
const SILENT_NOTE = 0.7;
/** A hold that was marked is not there, or one that was not marked is, where some are. */
const MARK_MISSED = 4;
const UNMARKED_HOLD = 2.2;

const STEP = { silent: 1, begin: 2, dropped: 3, joined: 4, lineDropped: 5 } as const;

/**
 * Lays lines under notes: of all ways the one of least cost (dynamic programming over syllables and notes, as two
 * sequences are aligned; Needleman & Wunsch, J. Mol. Biol. 48, 443-453, 1970).
 * @param lines  of syllables; none is empty
 * @param marked  holds were marked by hand, so that what is not marked is less likely held
 */
export function alignLines(
  lines: readonly (readonly SungSyllable[])[],
  notes: readonly NoteCosts[],
  marked: boolean,
): Alignment {
  const syllables = lines.flat();
  const count = notes.length;
  const width = count + 1;
  const firstOf = new Set<number>();
  const lineLength = new Map<number, number>();
  let at = 0;
  for (const line of lines) {
    firstOf.add(at);
    lineLength.set(at, line.length);
    at += line.length;
  }
  firstOf.add(syllables.length);
  const size = (syllables.length + 1) * width;
  const cost = new Float64Array(size).fill(Number.POSITIVE_INFINITY);
  /** How the state was reached, and from where in the row it came: how many notes back, or how many syllables. */
  const step = new Uint8Array(size);
  const back = new Uint16Array(size);
  /** The last syllable has a note of its own. */
  const onNote = new Uint8Array(size);
  const silence = silenceCosts(notes);
  cost[0] = 0;
  const reach = (to: number, sum: number, how: number, from: number, sounds: 0 | 1) => {
    if (sum >= cost[to]) return;
    cost[to] = sum;
    step[to] = how;
    back[to] = from;
    onNote[to] = sounds;
  };
  for (let s = 0; s <= syllables.length; s++) {
    const isLine = firstOf.has(s);
    if (isLine) leaveSilent(s, cost, notes, silence, width, reach);
    if (s === syllables.length) break;
    const syllable = syllables[s];
    const before = s > 0 ? syllables[s - 1] : null;
    const joins = before === null || isLine ? Number.POSITIVE_INFINITY : joinCost(before, syllable);
    const length = lineLength.get(s) ?? 0;
    for (let n = 0; n <= count; n++) {
      const here = cost[s * width + n];
      if (here === Number.POSITIVE_INFINITY) continue;
      reach((s + 1) * width + n, here + DROPPED - DROPPED_LATER * (s / syllables.length), STEP.dropped, 0, 0);
      if (onNote[s * width + n] === 1) reach((s + 1) * width + n, here + joins, STEP.joined, 0, 1);
      if (length > 0) {
        const sum = here + LINE_DROPPED + LINE_SYLLABLE_DROPPED * length;
        reach((s + length) * width + n, sum, STEP.lineDropped, length, 0);
      }
      if (n === count) continue;
      let sum = here + (isLine ? notes[n].line : notes[n].begin) + stressCost(syllable, notes[n]);
      for (let holds = 0; holds <= MOST_HOLDS && n + holds < count; holds++) {
        if (holds > 0) sum += notes[n + holds].hold;
        const to = (s + 1) * width + n + holds + 1;
        reach(to, sum + markCost(syllable.holds, holds, marked), STEP.begin, holds + 1, 1);
      }
    }
  }
  const end = size - 1;
  return { cost: cost[end], lines: byLine(lines, traced(syllables.length, count, step, back)) };
}

/** For each note the sum of what leaving it and all before it silent costs, beside the beginning. */
function silenceCosts(notes: readonly NoteCosts[]): Float64Array {
  const sums = new Float64Array(notes.length + 1);
  for (let n = 0; n < notes.length; n++) sums[n + 1] = sums[n] + SILENT_NOTE;
  return sums;
}

type Reach = (to: number, sum: number, how: number, from: number, sounds: 0 | 1) => void;

/** Notes may be left without words before a line, from any place on: the best place so far is carried along. */
function leaveSilent(
  s: number,
  cost: Float64Array,
  notes: readonly NoteCosts[],
  silence: Float64Array,
  width: number,
  reach: Reach,
): void {
  let best = -1;
  let bestCost = Number.POSITIVE_INFINITY;
  const row = s * width;
  for (let n = 0; n < width; n++) {
    if (best >= 0) reach(row + n, bestCost + SILENT + silence[n], STEP.silent, n - best, 0);
    // Like a line, silence begins where the tune breaks off.
    const own = cost[row + n] + (notes[n]?.line ?? 0) - silence[n];
    if (own < bestCost) {
      bestCost = own;
      best = n;
    }
  }
}

/** What it costs to sing a syllable on the note of the one before. */
function joinCost(before: SungSyllable, syllable: SungSyllable): number {
  if (before.holds > 0) return Number.POSITIVE_INFINITY;
  if (before.meets) return MEETING;
  const inWord = syllable.syllabic === 'middle' || syllable.syllabic === 'end';
  return inWord && syllable.byRule !== undefined ? IN_WORD[syllable.byRule] : Number.POSITIVE_INFINITY;
}

function stressCost({ stressed }: SungSyllable, note: NoteCosts): number {
  if (stressed === undefined) return 0;
  return stressed ? note.stressed : note.unstressed;
}

function markCost(asked: number, holds: number, marked: boolean): number {
  if (asked > 0) return MARK_MISSED * Math.abs(asked - holds);
  return marked ? UNMARKED_HOLD * holds : 0;
}

function traced(syllables: number, notes: number, step: Uint8Array, back: Uint16Array): Placed[] {
  const placed: Placed[] = [];
  let s = syllables;
  let n = notes;
  while (s > 0 || n > 0) {
    const at = s * (notes + 1) + n;
    const how = step[at];
    if (how === STEP.silent) n -= back[at];
    else if (how === STEP.begin) {
      n -= back[at];
      s--;
      placed.push({ note: n, holds: back[at] - 1, joined: false });
    } else if (how === STEP.lineDropped) {
      for (let i = 0; i < back[at]; i++) placed.push({ note: null, holds: 0, joined: false });
      s -= back[at];
    } else {
      placed.push({ note: null, holds: 0, joined: how === STEP.joined });
      s--;
    }
  }
  return placed.reverse();
}

function byLine(lines: readonly (readonly SungSyllable[])[], placed: readonly Placed[]): Placed[][] {
  let at = 0;
  return lines.map(({ length }) => {
    at += length;
    return placed.slice(at - length, at);
  });
}
