import type { SungSyllable } from './verses.ts';

/** What each use of a note costs, as natural log odds against using it for neither words nor silence. */
export interface NoteCosts {
  /** A syllable begins here, but not the first of its line. */
  readonly begin: number;
  /** A line begins here. */
  readonly line: number;
  /** The previous syllable is held through this note. */
  readonly hold: number;
  /** Extra cost if the syllable that begins here is stressed, and if it is unstressed. */
  readonly stressed: number;
  readonly unstressed: number;
  /** Extra cost if two syllables share this note. */
  readonly shared: number;
  /** The syllable that another verse sings here. */
  readonly above?: SungSyllable;
}

/** A syllable and its note: `note` is null if it found none; `joined` if it shares the note of the previous syllable. */
export interface Placed {
  readonly note: number | null;
  readonly holds: number;
  readonly joined: boolean;
}

export interface Alignment {
  readonly cost: number;
  /** Per line, one entry for each syllable. */
  readonly lines: readonly (readonly Placed[])[];
}

/*
 * What a way costs was set by hand on the twelve songs of `tests/bench/songs/songs.ts`, and looked at on the six of `proof-songs.ts`.
 */
/** A syllable is held through at most this many notes. */
const MOST_HOLDS = 9;
/**
 * Leaving a syllable without a note (in doubt a later one); leaving a whole line without, or the rest of one where the notes end: once,
 * and per syllable.
 */
const DROPPED = 6;
const DROPPED_LATER = 0.02;
const LINE_DROPPED = 5;
const REST_DROPPED = 7.2;
const LINE_SYLLABLE_DROPPED = 0.8;
/**
 * Two syllables on one note: of two words that meet vowel to vowel; and of one word that rules have split, either with a vowel that
 * may be mute, or by a certain split, which is still better than dropping a syllable.
 */
const MEETING = 0.6;
const IN_WORD = { open: 3, told: 4.3 } as const;
/**
 * Any other two syllables on one note, as where a verse has a syllable more; of two words; and, for the first and the second of them,
 * if it is stressed, if it is not, and if its stress is unknown.
 */
const SHARED = 5;
const SHARED_WORDS = 0.2;
const SHARED_STRESSED = [0.3, 1] as const;
const SHARED_UNSTRESSED = -0.3;
const SHARED_IN_DOUBT = [0, 0.4] as const;
/** Notes without words between two lines, before the first, or after the last: once, and per note; and more between stanzas and within one. */
const SILENT = 4;
const SILENT_NOTE = 0.7;
const SILENT_BETWEEN = 12;
const SILENT_IN_STANZA = 14;
/**
 * Ignoring a hold that was marked, which nobody marks by mistake (with 4 the words of one take in 24 slipped by a note), or holding a syllable
 * without a mark where others are marked.
 */
const MARK_MISSED = 6;
const UNMARKED_HOLD = 2.2;
/** Against the verse above: another stress, another that is not quite known, and, in favour, the same syllable. */
const OTHER_STRESS = 0.5;
const STRESS_IN_DOUBT = 0.15;
const SAME_AS_ABOVE = 0.5;

/** What the last syllable has: no note, a note of its own, or one that it shares or one of several. */
const SOUNDS = { no: 0, alone: 1, otherwise: 2 } as const;
const STEP = { silent: 1, begin: 2, dropped: 3, joined: 4, lineDropped: 5 } as const;

/**
 * Lays lines under notes in the way that costs least (dynamic programming over syllables and notes, as sequences are
 * aligned; Needleman & Wunsch, J. Mol. Biol. 48, 443-453, 1970).
 * @param lines  of syllables; none is empty
 * @param marked  true if holds were marked by hand, which makes unmarked ones less likely
 * @param stanzas  positions of the lines that begin stanzas
 * @param begins  true if the first line begins with the first note
 */
export function alignLines(
  lines: readonly (readonly SungSyllable[])[],
  notes: readonly NoteCosts[],
  marked: boolean,
  stanzas: ReadonlySet<number>,
  begins: boolean,
): Alignment {
  const syllables = lines.flat();
  const count = notes.length;
  const width = count + 1;
  /** First syllables of lines, with what silence before them costs. */
  const firstOf = new Map<number, number>();
  const lineLength = new Map<number, number>();
  let at = 0;
  for (const [i, line] of lines.entries()) {
    firstOf.set(
      at,
      i === 0 && begins
        ? Number.POSITIVE_INFINITY
        : SILENT + (i === 0 ? 0 : stanzas.has(i) ? SILENT_BETWEEN : SILENT_IN_STANZA),
    );
    lineLength.set(at, line.length);
    at += line.length;
  }
  firstOf.set(syllables.length, SILENT);
  const size = (syllables.length + 1) * width;
  const cost = new Float64Array(size).fill(Number.POSITIVE_INFINITY);
  /** How each state was reached, and from how many notes or syllables back. */
  const step = new Uint8Array(size);
  const back = new Uint16Array(size);
  /** `SOUNDS` of the last syllable. */
  const onNote = new Uint8Array(size);
  const silence = silenceCosts(notes);
  cost[0] = 0;
  let lineEnd = 0;
  const reach = (to: number, sum: number, how: number, from: number, sounds: Sounds) => {
    if (sum >= cost[to]) return;
    cost[to] = sum;
    step[to] = how;
    back[to] = from;
    onNote[to] = sounds;
  };
  for (let s = 0; s <= syllables.length; s++) {
    const silent = firstOf.get(s);
    const isLine = silent !== undefined;
    if (isLine) leaveSilent(s, silent, cost, notes, silence, width, reach);
    if (s === syllables.length) break;
    const syllable = syllables[s];
    const before = s > 0 ? syllables[s - 1] : null;
    const joins = before === null || isLine ? Number.POSITIVE_INFINITY : joinCost(before, syllable);
    const shares = before === null || isLine ? Number.POSITIVE_INFINITY : shareCost(before, syllable);
    const length = lineLength.get(s) ?? 0;
    if (isLine) lineEnd = s + length;
    for (let n = 0; n <= count; n++) {
      const at = s * width + n;
      const here = cost[at];
      if (here === Number.POSITIVE_INFINITY) continue;
      reach(at + width, here + DROPPED - DROPPED_LATER * (s / syllables.length), STEP.dropped, 0, SOUNDS.no);
      if (onNote[at] !== SOUNDS.no) reach(at + width, here + joins, STEP.joined, 0, SOUNDS.otherwise);
      if (onNote[at] === SOUNDS.alone)
        reach(at + width, here + shares + notes[n - 1].shared, STEP.joined, 0, SOUNDS.otherwise);
      if (isLine || n === count) {
        const left = lineEnd - s;
        const sum = here + (isLine ? LINE_DROPPED : REST_DROPPED) + LINE_SYLLABLE_DROPPED * left;
        reach(lineEnd * width + n, sum, STEP.lineDropped, left, SOUNDS.no);
      }
      if (n === count) continue;
      let sum = here + (isLine ? notes[n].line : notes[n].begin);
      sum += stressCost(syllable, notes[n]) + aboveCost(syllable, notes[n].above);
      for (let holds = 0; holds <= MOST_HOLDS && n + holds < count; holds++) {
        if (holds > 0) sum += notes[n + holds].hold;
        const to = (s + 1) * width + n + holds + 1;
        const sounds = holds > 0 ? SOUNDS.otherwise : SOUNDS.alone;
        reach(to, sum + markCost(syllable.holds, holds, marked), STEP.begin, holds + 1, sounds);
      }
    }
  }
  const end = size - 1;
  return { cost: cost[end], lines: byLine(lines, traced(syllables.length, count, step, back)) };
}

/** For each note, the cost of leaving it and all before it silent, without the cost of starting a silence. */
function silenceCosts(notes: readonly NoteCosts[]): Float64Array {
  const sums = new Float64Array(notes.length + 1);
  for (let n = 0; n < notes.length; n++) sums[n + 1] = sums[n] + SILENT_NOTE;
  return sums;
}

type Sounds = (typeof SOUNDS)[keyof typeof SOUNDS];
type Reach = (to: number, sum: number, how: number, from: number, sounds: Sounds) => void;

/** Leaves notes silent before a line, starting anywhere; the best start so far is carried along. */
function leaveSilent(
  s: number,
  silent: number,
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
    if (best >= 0) reach(row + n, bestCost + silent + silence[n], STEP.silent, n - best, SOUNDS.no);
    // Like a line, a silence begins at a break of the tune.
    const own = cost[row + n] + (notes[n]?.line ?? 0) - silence[n];
    if (own < bestCost) {
      bestCost = own;
      best = n;
    }
  }
}

/** The cost of singing a syllable on the note of the previous one. */
function joinCost(before: SungSyllable, syllable: SungSyllable): number {
  if (before.holds > 0) return Number.POSITIVE_INFINITY;
  if (before.meets) return MEETING;
  const inWord = syllable.syllabic === 'middle' || syllable.syllabic === 'end';
  return inWord && syllable.byRule !== undefined ? IN_WORD[syllable.byRule] : Number.POSITIVE_INFINITY;
}

/** The cost of singing two syllables on one note that the language does not join. */
function shareCost(before: SungSyllable, syllable: SungSyllable): number {
  if (before.holds > 0 || syllable.holds > 0) return Number.POSITIVE_INFINITY;
  const inWord = syllable.syllabic === 'middle' || syllable.syllabic === 'end';
  const ofStress = ({ stressed }: SungSyllable, i: 0 | 1) =>
    stressed === undefined ? SHARED_IN_DOUBT[i] : stressed ? SHARED_STRESSED[i] : SHARED_UNSTRESSED;
  return SHARED + (inWord ? 0 : SHARED_WORDS) + ofStress(before, 0) + ofStress(syllable, 1);
}

function stressCost({ stressed }: SungSyllable, note: NoteCosts): number {
  if (stressed === undefined) return 0;
  return stressed ? note.stressed : note.unstressed;
}

/** Verses of a song are stressed alike, and have the words of their refrains in the same place. */
function aboveCost({ text, stressed }: SungSyllable, above: SungSyllable | undefined): number {
  if (above === undefined) return 0;
  if (text.toLowerCase() === above.text.toLowerCase()) return -SAME_AS_ABOVE;
  if (stressed === above.stressed) return 0;
  const isClear = stressed !== undefined && above.stressed !== undefined;
  if (isClear) return OTHER_STRESS;
  // A word of one syllable whose stress is unknown is rather stressed.
  return stressed === false || above.stressed === false ? STRESS_IN_DOUBT : 0;
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
