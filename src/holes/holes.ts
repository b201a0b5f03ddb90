import type { SoundEvent } from '../analysis/notes/events.ts';
import { type ChainScores, decodeChain } from '../decode/chain.ts';
import { combine, decodeUnder } from '../decode/hypotheses.ts';
import type { PlayableNote } from '../harp/types.ts';
import { logStudentT, probabilityOf } from '../statistics.ts';
import { hzToMidi } from '../units.ts';
import { flatReeds } from './flat-reeds.ts';
import { reedHypotheses } from './reed-sounds.ts';

/**
 * Evidence for and against a hole, in nats. Each follows from how the instrument works; the values were set on the
 * development takes, and `npm run ablate -- holes --factors 0` shows what each is worth.
 */
export interface HoleCosts {
  /** Spread of intonation by technique, in cents. */
  readonly naturalCents: number;
  readonly bendCents: number;
  readonly overCents: number;
  /** Bends and overbends are played less often than plain notes of the same pitch. */
  readonly bend: number;
  readonly over: number;
  /** For each hole beyond the next one. */
  readonly distance: number;
  /** A change of breath needs a gap: the cost of having none, and the cost of a gap with no change of breath. */
  readonly breathWithoutGap: number;
  readonly gapWithoutBreath: number;
  /** The same where the same note follows, which can't be heard without a gap. */
  readonly gapBeforeRepeat: number;
  /** A slur reaches the next hole at most. */
  readonly slurOverHoles: number;
  /** Only a bend glides, within its hole and breath. */
  readonly glideElsewhere: number;
  /** A re-articulation is on the same reed. */
  readonly rearticulationElsewhere: number;
  /** Notes of the same pitch that sound different come from two reeds: the most that this may count for one note. */
  readonly otherSound: number;
}

export const HOLE_COSTS: HoleCosts = {
  naturalCents: 13,
  bendCents: 30,
  overCents: 25,
  bend: 1.2,
  over: 3,
  distance: 0.2,
  breathWithoutGap: 4,
  gapWithoutBreath: 0.5,
  gapBeforeRepeat: 0.5,
  slurOverHoles: 0.7,
  glideElsewhere: 5,
  rearticulationElsewhere: 1.5,
  otherSound: 5,
};

/**
 * A slide or slur over a longer pause, in seconds, goes on from a sound that was left out. With 0.04 the harps found in
 * development takes are right one time fewer, with 0.01 two times.
 */
const CUT_OFF_SEC = 0.08;

/** One reading of an event. */
export interface HoleReading {
  readonly note: PlayableNote;
  /** Posterior probability over the whole take, [0, 1]. */
  readonly probability: number;
}

/** An event further than this from every playable note is read as the nearest. */
export const FARTHEST_CENTS = 90;
const FAR_COST = 12;
const FAR_COST_PER_CENT = 0.05;
const FARTHEST_COUNTED_CENTS = 1000;
/** Readings less likely than this are not kept. */
const LEAST_PROBABILITY = 0.005;
/** Dip in dB at which a change of breath is as likely as none, and how fast that changes with ln of the dip. */
const EVEN_DIP_DB = 2.2;
const DIP_SLOPE = 1.6;
const LEAST_DIP_DB = 0.3;
/** The same for a slide, in which the level hardly dips by more than this. */
const EVEN_SLIDE_DIP_DB = 7.5;
const SLIDE_DIP_SLOPE = 2.3;

/**
 * The most likely holes and breaths for all events at once, with every event's readings ranked.
 * @param fixed for each event its reading (one of `notes`) if it is already known, else `undefined`
 * @returns for each event its readings: the one on the best path first, the others by falling probability
 */
export function readHoles(
  events: readonly SoundEvent[],
  notes: readonly PlayableNote[],
  costs: HoleCosts = HOLE_COSTS,
  fixed: readonly (PlayableNote | undefined)[] = [],
): HoleReading[][] {
  const scores = holdFixed(holeScores(events, notes, costs), notes, fixed);
  const open = [
    ...reedHypotheses(events, notes, costs.otherSound),
    ...flatReeds(events, notes, costs.naturalCents),
  ];
  const { path, posterior } = decodeUnder(events.length, notes.length, scores, combine(open));
  return events.map((_, t) => {
    const chosen = path[t];
    const likely = likelyStates(posterior, t * notes.length, notes.length);
    const others = likely
      .filter((s) => s !== chosen)
      .map((s): HoleReading => ({ note: notes[s], probability: posterior[t * notes.length + s] }))
      .sort((a, b) => b.probability - a.probability);
    return [{ note: notes[chosen], probability: posterior[t * notes.length + chosen] }, ...others];
  });
}

/** Which of `count` states are likely enough to be listed. */
function likelyStates(posterior: Float64Array, from: number, count: number): number[] {
  const likely: number[] = [];
  for (let s = 0; s < count; s++) if (posterior[from + s] >= LEAST_PROBABILITY) likely.push(s);
  return likely;
}

/** The same scores, with all other readings of known events ruled out. */
function holdFixed(
  { observed, move }: ChainScores,
  notes: readonly PlayableNote[],
  fixed: readonly (PlayableNote | undefined)[],
): ChainScores {
  const held = observed.slice();
  fixed.forEach((note, t) => {
    if (note === undefined) return;
    const at = t * notes.length;
    held.fill(Number.NEGATIVE_INFINITY, at, at + notes.length);
    const state = notes.indexOf(note);
    if (state >= 0) held[at + state] = 0;
  });
  return { observed: held, move };
}

/** The evidence by which harps are compared. */
export interface HarpEvidence {
  /** Costs of moving from note to note; `noteScore` has those of the notes themselves. */
  readonly costs: HoleCosts;
  /** Log score of event t as this note, this many cents above it. */
  readonly noteScore: (t: number, note: PlayableNote, cents: number) => number;
  /** Log score of an event that is none of the harp's notes and so may lie anywhere. */
  readonly unexplained: number;
}

/** How well a harp explains the events: log score summed over all ways to play them. */
export function harpScore(
  events: readonly SoundEvent[],
  notes: readonly PlayableNote[],
  { costs, noteScore, unexplained }: HarpEvidence,
): number {
  const targets = notes.map(({ f0Hz }) => hzToMidi(f0Hz));
  const observed = events.map(({ midi }, t) => {
    const scores = notes.map((note, s) => noteScore(t, note, 100 * (midi - targets[s])));
    return scores.some((score) => score > unexplained)
      ? scores.map((score) => (score > unexplained ? score : -Infinity))
      : scores.fill(unexplained);
  });
  return decodeChain(events.length, notes.length, chainScores(events, notes, observed, costs)).logTotal;
}

function holeScores(
  events: readonly SoundEvent[],
  notes: readonly PlayableNote[],
  costs: HoleCosts,
): ChainScores {
  const targets = notes.map(({ f0Hz }) => hzToMidi(f0Hz));
  const observed = events.map((event) => {
    const scores = notes.map((note, s) => pitchScore(100 * (event.midi - targets[s]), note, costs));
    const best = Math.max(...scores);
    if (best > -FAR_COST) return scores.map((score) => (score > best - 2 * FAR_COST ? score : -Infinity));
    // No playable note is near: take the nearest in pitch.
    const away = targets.map((midi) => 100 * Math.abs(event.midi - midi));
    const nearest = Math.min(...away);
    const least = FAR_COST + FAR_COST_PER_CENT * Math.min(FARTHEST_COUNTED_CENTS, nearest);
    return away.map((cents) => -least - FAR_COST_PER_CENT * (cents - nearest));
  });
  return chainScores(events, notes, observed, costs);
}

function chainScores(
  events: readonly SoundEvent[],
  notes: readonly PlayableNote[],
  observed: readonly (readonly number[])[],
  costs: HoleCosts,
): ChainScores {
  const begun = events.map((event, t) => beginningOf(event, events[t - 1]));
  return {
    observed: Float64Array.from(observed.flat()),
    move: (t, i, j) => moveScore(begun[t], notes[i], notes[j], costs),
  };
}

/** How a note began, and what that tells of the breath and the mouth before it. */
interface Beginning {
  readonly start: SoundEvent['start'];
  /** Probability that the breath turned, and that the pitch did not slide, by how far the level dipped. */
  readonly turned: number;
  readonly unslid: number;
}

function beginningOf({ onsetSec, start, dipDb }: SoundEvent, before: SoundEvent | undefined): Beginning {
  const dip = dipDb + LEAST_DIP_DB;
  const isCutOff =
    (start === 'glide' || start === 'slur') &&
    before !== undefined &&
    onsetSec - before.offsetSec > CUT_OFF_SEC;
  return {
    // It goes on from a sound that was left out, which tells nothing of the note before.
    start: isCutOff ? 'silence' : start,
    turned: probabilityOf(DIP_SLOPE * Math.log(dip / EVEN_DIP_DB)),
    unslid: probabilityOf(-SLIDE_DIP_SLOPE * Math.log(dip / EVEN_SLIDE_DIP_DB)),
  };
}

function pitchScore(cents: number, note: PlayableNote, costs: HoleCosts): number {
  if (Math.abs(cents) > FARTHEST_CENTS) return -Infinity;
  if (note.bend === 0 && !note.over) {
    // A reed stays where it was tuned, so the tails are those of a normal distribution.
    return -0.5 * (cents / costs.naturalCents) ** 2 - Math.log(costs.naturalCents);
  }
  return note.over
    ? heldFit(cents, costs.overCents) - costs.over
    : heldFit(cents, costs.bendCents) - costs.bend;
}

/** Log score of a pitch that the player holds rather than a reed: now and then it is missed by a lot. */
export const heldFit = (cents: number, spreadCents: number): number => logStudentT(cents, spreadCents, 4);

function moveScore(
  { start, turned, unslid }: Beginning,
  from: PlayableNote,
  to: PlayableNote,
  costs: HoleCosts,
): number {
  const holes = Math.abs(to.hole - from.hole);
  const sameBreath = from.breath === to.breath;
  let score = -costs.distance * Math.max(0, holes - 1);
  if (start === 'silence') return score;
  // The dip before a re-articulation comes from the tongue and tells nothing about the breath.
  if (start === 'rearticulation')
    return holes === 0 && sameBreath ? score : score - costs.rearticulationElsewhere;
  if (start === 'glide' && !(holes === 0 && sameBreath)) score -= costs.glideElsewhere * unslid;
  const gapCost = from === to ? costs.gapBeforeRepeat : costs.gapWithoutBreath;
  score -= sameBreath ? gapCost * turned : costs.breathWithoutGap * (1 - turned);
  if (sameBreath && holes > 1) score -= costs.slurOverHoles * (1 - turned);
  return score;
}
