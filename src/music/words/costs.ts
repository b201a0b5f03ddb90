import type { NoteStart } from '../../tab/note.ts';
import { breakStrengths } from '../breaks.ts';
import type { Phrase } from '../phrases.ts';
import type { NoteCosts } from './align.ts';

/** What is known about a note when words are laid under it: times, pitch, and its place in the bar if known. */
export interface SungNote {
  readonly start: NoteStart;
  readonly onsetSec?: number;
  readonly offsetSec?: number;
  readonly midi?: number;
  /** How weak its place in the bar is: 0 on the bar line, 1 on a beat, 2 between beats. */
  readonly weakness?: 0 | 1 | 2;
}

/** The cost of holding a syllable through a note, by how the note begins: without an attack a new syllable is unlikely. */
const START_COST: Readonly<Record<NoteStart, number>> = {
  glide: 0.4,
  slur: 1,
  jump: 1.8,
  breath: 1.9,
  tongue: 2.8,
  silence: 2.8,
};
/** A repeated pitch is struck for a new syllable, so holding costs this more. */
const SAME_PITCH = 2.5;
const SAME_PITCH_SEMITONES = 0.5;
/** By place in the bar: a syllable is seldom held into a strong place. */
const PLACE_COST = [1.2, 0.5, -0.3] as const;
/** By place in the bar: stressed syllables fall on strong places, others on weak ones. */
const STRESSED_COST = [0, 0, 0.8] as const;
const UNSTRESSED_COST = [0.9, 0.2, 0] as const;
/** Notes shorter than the median are more easily held through, longer ones less, by this for each doubling. */
const LENGTH_COST = 0.7;
const MOST_DOUBLINGS = 2;
/** Two syllables more easily share a long note, by this for each doubling. */
const SHARED_LENGTH = 0.4;
/** At a full break: to hold a syllable through it, and to continue a line across it; and to begin a line where there is no break. */
const HOLD_OVER_BREAK = 5;
const GO_ON_OVER_BREAK = 2.5;
const LINE_WITHOUT_BREAK = 3;
/** A phrase boundary that was detected counts as a break of this strength. */
const PHRASE_BREAK = 0.6;

/** The cost, for each note, of beginning a syllable or a line on it, or of holding one through it. */
export function noteCosts(notes: readonly SungNote[], phrases: readonly Phrase[]): NoteCosts[] {
  const strengths = breaksOf(notes, phrases);
  const lengths = lengthsOf(notes);
  return notes.map((note, i) => {
    const strength = strengths[i];
    const before = notes[i - 1];
    const repeats =
      note.midi !== undefined &&
      before?.midi !== undefined &&
      Math.abs(note.midi - before.midi) < SAME_PITCH_SEMITONES;
    const hold =
      START_COST[note.start] +
      (repeats ? SAME_PITCH : 0) +
      (note.weakness === undefined ? 0 : PLACE_COST[note.weakness]) +
      LENGTH_COST * lengths[i] +
      HOLD_OVER_BREAK * strength;
    return {
      begin: GO_ON_OVER_BREAK * strength,
      line: i === 0 ? 0 : LINE_WITHOUT_BREAK * (1 - strength),
      hold: Math.max(0.2, hold),
      stressed: note.weakness === undefined ? 0 : STRESSED_COST[note.weakness],
      unstressed: note.weakness === undefined ? 0 : UNSTRESSED_COST[note.weakness],
      shared: -SHARED_LENGTH * lengths[i],
    };
  });
}

const isTimed = (note: SungNote): note is SungNote & { onsetSec: number; offsetSec: number } =>
  note.onsetSec !== undefined && note.offsetSec !== undefined;

function breaksOf(notes: readonly SungNote[], phrases: readonly Phrase[]): Float64Array {
  const timed = notes.filter(isTimed);
  const strengths = timed.length === notes.length ? breakStrengths(timed) : new Float64Array(notes.length);
  for (const { firstNote } of phrases) {
    if (firstNote > 0) strengths[firstNote] = Math.max(strengths[firstNote], PHRASE_BREAK);
  }
  return strengths;
}

/** Log2 of each length over the median, within ±2; 0 where lengths are unknown. */
function lengthsOf(notes: readonly SungNote[]): number[] {
  const timed = notes.filter(isTimed);
  if (timed.length < notes.length || notes.length < 2) return notes.map(() => 0);
  const lengths = timed.map((note, i) => {
    const next = timed[i + 1];
    return next === undefined ? note.offsetSec - note.onsetSec : next.onsetSec - note.onsetSec;
  });
  const usual = lengths.toSorted((a, b) => a - b)[lengths.length >> 1];
  return lengths.map((sec) =>
    Math.max(
      -MOST_DOUBLINGS,
      Math.min(MOST_DOUBLINGS, Math.log2(Math.max(sec, 1e-3) / Math.max(usual, 1e-3))),
    ),
  );
}
