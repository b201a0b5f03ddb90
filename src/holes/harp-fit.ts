import type { SoundEvent } from '../analysis/notes/events.ts';
import type { PlayableNote } from '../harp/types.ts';
import { logStudentT } from '../statistics.ts';
import { FARTHEST_CENTS, HOLE_COSTS, heldFit } from './holes.ts';
import type { NaturalFit } from './steadiness.ts';

/** A style of playing: what each technique costs, in nats. */
export interface PlayingStyle {
  readonly natural: number;
  readonly bend: number;
  readonly over: number;
  /** How rare such takes are, in nats. */
  readonly rarity: number;
}

/** A bend costs little where nearly all notes are bent. In order: tunes, exercises in bends, exercises in overblows. */
const STYLES: readonly PlayingStyle[] = [
  { natural: 0, bend: 2.2, over: 5, rarity: 0 },
  { natural: 1, bend: -0.5, over: 4, rarity: 2 },
  { natural: 0.1, bend: 1.7, over: 0.4, rarity: 3 },
];

/** Log score of an event that no note of the harp explains: a false detection, or another instrument. */
export const UNEXPLAINED = -10;

/** How far around 440 Hz A4 is searched, and in which steps, in cents. */
const FARTHEST_A4_CENTS = 48;
const A4_STEP_CENTS = 6;
/** Where A4 usually is and how far it strays, in cents (harps are sold at 440 to 443 Hz); the tails are for tape and cheap clocks. */
const USUAL_A4_CENTS = 2;
const A4_SPREAD_CENTS = 5;

/** The A4 and style for which the notes of a harp fit the events best. */
export interface HarpFit {
  /** Log score of all events, each as the note that fits it best; includes how rare the style and A4 are. */
  readonly score: number;
  /** The part of the score that does not come from the events. */
  readonly prior: number;
  /** A4 relative to 440 Hz, in cents. */
  readonly a4Cents: number;
  readonly style: PlayingStyle;
}

/** Kinds of note that a harp may have at a pitch, as bits. */
const NATURAL = 1;
const BENT = 2;
const OVER = 4;
/** A pitch is natural, bent or overblown somewhere on a harp, or several of these: 8 sets. */
const KINDS = 8;
const MIDI_NUMBERS = 129;

/**
 * Fits the pitches of a take to any harp, quickly: for each A4 and style, the scores of events are summed once, by the
 * semitone below each event and by what a harp may have there and a semitone higher. Scoring a harp is then one sum
 * over semitones.
 * @param a4Cents A4 relative to 440 Hz where it is known
 * @param share how much an event counts, as notes of one take are not independent
 */
export function fitterOf(
  events: readonly SoundEvent[],
  natural: NaturalFit,
  share: number,
  a4Cents: number | undefined,
): (notes: readonly PlayableNote[]) => HarpFit {
  const sums = a4Candidates(a4Cents).flatMap((a4) => {
    const placed = events.map(({ midi }, t) => placeOf(t, midi - a4 / 100, natural));
    const a4Prior = a4Cents === undefined ? logStudentT(a4 - USUAL_A4_CENTS, A4_SPREAD_CENTS, 2) : 0;
    return STYLES.map((style) => ({
      a4Cents: a4,
      style,
      prior: a4Prior - style.rarity,
      bySemitone: sumBySemitone(placed, style),
    }));
  });
  return (notes) => {
    const kinds = kindsOf(notes);
    let best = { under: sums[0], score: Number.NEGATIVE_INFINITY };
    for (const under of sums) {
      let sum = 0;
      for (const [semitone, scores] of under.bySemitone) {
        sum += scores[kinds[semitone] * KINDS + kinds[semitone + 1]];
      }
      const score = share * sum + under.prior;
      if (score > best.score) best = { under, score };
    }
    const { prior, a4Cents: a4, style } = best.under;
    return { score: best.score, prior, a4Cents: a4, style };
  };
}

/** Log score of event t as this note, this many cents above it. */
export function noteFit(
  style: PlayingStyle,
  natural: NaturalFit,
): (t: number, note: PlayableNote, cents: number) => number {
  return (t, { bend, over }, cents) => {
    if (Math.abs(cents) > FARTHEST_CENTS) return -Infinity;
    if (over) return heldFit(cents, HOLE_COSTS.overCents) - style.over;
    return bend > 0 ? heldFit(cents, HOLE_COSTS.bendCents) - style.bend : natural(t, cents) - style.natural;
  };
}

/** Log scores of an event as each technique at one semitone, whatever the style. */
interface Fits {
  readonly natural: number;
  readonly bent: number;
  readonly over: number;
}

/** An event between two semitones. */
interface Place {
  readonly below: number;
  readonly fits: readonly [atBelow: Fits, atAbove: Fits];
}

const OUT_OF_REACH: Fits = { natural: -Infinity, bent: -Infinity, over: -Infinity };

function placeOf(t: number, midi: number, natural: NaturalFit): Place {
  const below = Math.floor(midi);
  const fitsAt = (semitone: number): Fits => {
    const cents = 100 * (midi - semitone);
    if (Math.abs(cents) > FARTHEST_CENTS) return OUT_OF_REACH;
    return {
      natural: natural(t, cents),
      bent: heldFit(cents, HOLE_COSTS.bendCents),
      over: heldFit(cents, HOLE_COSTS.overCents),
    };
  };
  return { below, fits: [fitsAt(below), fitsAt(below + 1)] };
}

function a4Candidates(known: number | undefined): number[] {
  if (known !== undefined) return [known];
  const candidates: number[] = [];
  for (let cents = -FARTHEST_A4_CENTS; cents <= FARTHEST_A4_CENTS; cents += A4_STEP_CENTS)
    candidates.push(cents);
  return candidates;
}

/** By semitone below: scores by the kinds of note there, times KINDS, plus the kinds of note a semitone above. */
function sumBySemitone(placed: readonly Place[], style: PlayingStyle): Map<number, Float64Array> {
  const sums = new Map<number, Float64Array>();
  for (const { below, fits } of placed) {
    const [here, above] = fits.map((each) => bestByKinds(each, style));
    const sum = sums.get(below) ?? new Float64Array(KINDS * KINDS);
    for (let k = 0; k < KINDS; k++) {
      for (let m = 0; m < KINDS; m++) sum[k * KINDS + m] += Math.max(here[k], above[m]);
    }
    sums.set(below, sum);
  }
  return sums;
}

/** For each set of kinds, the best score of any of them. */
function bestByKinds({ natural, bent, over }: Fits, style: PlayingStyle): Float64Array {
  const best = new Float64Array(KINDS).fill(UNEXPLAINED);
  for (let kinds = 1; kinds < KINDS; kinds++) {
    if (kinds & NATURAL) best[kinds] = Math.max(best[kinds], natural - style.natural);
    if (kinds & BENT) best[kinds] = Math.max(best[kinds], bent - style.bend);
    if (kinds & OVER) best[kinds] = Math.max(best[kinds], over - style.over);
  }
  return best;
}

/** The kinds of note that a harp has at each MIDI number. */
function kindsOf(notes: readonly PlayableNote[]): Uint8Array {
  const kinds = new Uint8Array(MIDI_NUMBERS);
  for (const { midi, bend, over } of notes) kinds[midi] |= over ? OVER : bend > 0 ? BENT : NATURAL;
  return kinds;
}
