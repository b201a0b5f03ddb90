import { HARP_KEYS, type HarpKey, parseHarpKey } from '../harp/keys.ts';
import { LAYOUTS, type Layout } from '../harp/layouts.ts';
import { findPlayable, playableNotes } from '../harp/playable.ts';
import { positionOf } from '../harp/positions.ts';
import type { PlayableNote } from '../harp/types.ts';
import type { TabNote } from '../tab/tab-note.ts';
import { ISO_A4_HZ } from '../units.ts';
import type { Choice } from './cost.ts';
import { changedNotes, learningCost } from './learning.ts';
import {
  type ArrangedTune,
  arrangeTune,
  type Choices,
  choiceOf,
  choicesOf,
  isWithin,
  priced,
  type Skill,
} from './tablature.ts';
import type { Tune } from './tune.ts';
import { DEFAULT_WEIGHTS, type Weights } from './weights.ts';

/** How the tune is played today. */
export interface PlayedOn {
  readonly harp: HarpKey;
  readonly layout: Layout;
  /** One for each note of the tune. */
  readonly tab: readonly TabNote[];
}

/** Where to search, and for which player. */
export interface ArrangeOptions {
  /** If omitted, the twelve usual keys and the one played. */
  readonly harps?: readonly HarpKey[];
  /** If omitted, all built-in tunings and the one played. */
  readonly tunings?: readonly Layout[];
  readonly skill?: Skill;
  /** Leave the tune in its key: move it by whole octaves only. */
  readonly keepKey?: boolean;
  /** Whole octaves to try; -2 to 2 if omitted. */
  readonly octaves?: readonly number[];
  readonly weights?: Weights;
  /** Look for a few well-placed bends instead of the fewest. */
  readonly practiceBends?: boolean;
  readonly played?: PlayedOn;
}

/** The tune arranged for one harp, in one octave. */
export interface Candidate {
  readonly harp: { readonly key: string; readonly tuning: string };
  readonly layout: Layout;
  /** 1 to 12. */
  readonly position: number;
  /** Semitones from the tune's own key, -5 to 6; 0 keeps the key. */
  readonly transposeSemitones: number;
  /** Whole octaves on top of that. */
  readonly octaveShift: number;
  /** Points for all notes and for the tuning. */
  readonly cost: number;
  /** Points for what has to be learnt or bought; 0 when it is not known how the tune is played today. Counts in the ranking. */
  readonly learning: number;
  /** Number of notes that are bent, overblown, overdrawn or missing. */
  readonly bends: number;
  readonly overbends: number;
  readonly missing: number;
  readonly laid: ArrangedTune;
}

export interface Arrangement {
  /** Best first; none when no harp has even half of the tune. */
  readonly candidates: readonly Candidate[];
  /** What is played today, with its cost by the same rules. */
  readonly played: ArrangedTune | null;
}

const ALL_SKILLS: Skill = { bends: 'all', over: false };
const OCTAVES = [-2, -1, 0, 1, 2];
/** Transpositions to all keys, the nearest way round. */
const TRANSPOSITIONS = [0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6];
/** A harp that lacks more than this share of the notes does not suit the tune. */
const MOST_MISSING = 0.5;
/** Practice asks for one bend in this many notes: few enough to be well placed (common practice, no source). */
const NOTES_PER_PRACTICE_BEND = 12;
/** Points for each bend too many or too few in practice: as much as a bend that is attacked and held. */
const PRACTICE_MISS = 2;

/** Ranks arrangements without bends below all that have some. */
const NO_PRACTICE = 1e6;

/** Arrangements on a C harp of each tuning, since only the distance between tune and harp matters. */
class Solver {
  readonly #tune: Tune;
  readonly #skill: Skill;
  readonly #weights: Weights;
  readonly #choices = new Map<string, Choices>();
  readonly #solved = new Map<string, ArrangedTune | null>();
  readonly #referenceMidi = parseHarpKey('C').tonicMidi;

  constructor(tune: Tune, skill: Skill, weights: Weights) {
    this.#tune = tune;
    this.#skill = skill;
    this.#weights = weights;
  }

  /** @returns null when the harp lacks too much of the tune */
  solve(layout: Layout, tonicMidi: number, shift: number): ArrangedTune | null {
    const relative = shift - tonicMidi + this.#referenceMidi;
    const id = `${layout.id} ${relative}`;
    let laid = this.#solved.get(id);
    if (laid === undefined) {
      laid = this.#lay(layout, relative);
      this.#solved.set(id, laid);
    }
    return laid;
  }

  #lay(layout: Layout, relative: number): ArrangedTune | null {
    let choices = this.#choices.get(layout.id);
    if (choices === undefined) {
      choices = choicesOf(notesOf('C', layout), this.#skill);
      this.#choices.set(layout.id, choices);
    }
    const { notes } = this.#tune;
    const missing = notes.filter(({ midi }) => !choices.has(midi + relative)).length;
    return missing > MOST_MISSING * notes.length
      ? null
      : arrangeTune(this.#tune, choices, relative, this.#weights);
  }
}

/**
 * Arranges a tune for every harp, key, octave and tuning that is asked for, and ranks them: first those with every
 * note, then by cost; ties go to the nearer key and octave, and to the order of tunings and positions. A tuning that
 * gives the same tab as an earlier one is left out. Without `keepKey` the tune may move to other keys if harps are
 * named; with all twelve harps to choose from, other keys would only repeat the same arrangements.
 * @param tune  at least one note
 */
export function arrange(tune: Tune, options: ArrangeOptions = {}): Arrangement {
  const { played, weights = DEFAULT_WEIGHTS, skill = ALL_SKILLS } = options;
  const harps = options.harps ?? withPlayed(HARP_KEYS.map(parseHarpKey), played?.harp, (harp) => harp.key);
  const tunings = options.tunings ?? withPlayed(LAYOUTS, played?.layout, (layout) => layout.id);
  const anyKey = !options.keepKey && options.harps !== undefined;
  const solver = new Solver(tune, skill, weights);
  const candidates: Candidate[] = [];
  const today = played ? pricePlayed(tune, played, weights) : null;
  const positionToday = played ? positionOf(tune.tonic, played.harp.tonicMidi) : null;
  const learn = (
    laid: ArrangedTune,
    layout: Layout,
    key: string,
    tonicMidi: number,
    transposed: number,
    octaves: number,
  ): number =>
    played === undefined
      ? 0
      : learningCost(
          {
            changedNotes: changedNotes(laid, played.tab),
            // The player owns the harps that are named.
            anotherKey: options.harps === undefined && key !== played.harp.key,
            anotherTuning: layout.id !== played.layout.id,
            anotherPosition: positionOf(tune.tonic + transposed, tonicMidi) !== positionToday,
            octaves,
            anotherTonality: transposed !== 0,
          },
          weights,
        );
  const playable = ({ choices }: ArrangedTune): boolean =>
    choices.every((choice) => choice !== null && isWithin(choice.note, skill));
  for (const layout of tunings) {
    const usual = layout.id === 'richter' || layout.id === played?.layout.id;
    for (const { key, tonicMidi } of harps) {
      for (const transposeSemitones of anyKey ? TRANSPOSITIONS : [0]) {
        for (const octaveShift of options.octaves ?? OCTAVES) {
          const solved = solver.solve(layout, tonicMidi, transposeSemitones + 12 * octaveShift);
          if (solved === null) continue;
          const learningOf = (tune: ArrangedTune): number =>
            learn(tune, layout, key, tonicMidi, transposeSemitones, octaveShift);
          const asToday =
            today !== null &&
            key === played?.harp.key &&
            layout.id === played.layout.id &&
            transposeSemitones === 0 &&
            octaveShift === 0;
          // What the player knows already may be better than something a little easier.
          const laid =
            asToday && today.cost <= solved.cost + learningOf(solved) && playable(today) ? today : solved;
          candidates.push({
            harp: { key, tuning: layout.id },
            layout,
            position: positionOf(tune.tonic + transposeSemitones, tonicMidi),
            transposeSemitones,
            octaveShift,
            cost: laid.cost + (usual ? 0 : weights.otherTuning),
            learning: learningOf(laid),
            ...countsOf(laid),
            laid,
          });
        }
      }
    }
  }
  const worth = options.practiceBends ? practiceCost : ({ cost, learning }: Candidate) => cost + learning;
  return {
    candidates: withoutRepeats(ranked(candidates, worth, tunings)),
    played: today,
  };
}

/** @returns how many notes of each kind an arrangement has */
function countsOf({ choices }: ArrangedTune): Pick<Candidate, 'bends' | 'overbends' | 'missing'> {
  const counts = { bends: 0, overbends: 0, missing: 0 };
  for (const choice of choices) {
    if (choice === null) counts.missing++;
    else if (choice.note.over) counts.overbends++;
    else if (choice.note.bend > 0) counts.bends++;
  }
  return counts;
}

/** All notes of a harp in equal temperament at A4 = 440 Hz: the temperament does not change where notes lie. */
function notesOf(key: string, layout: Layout): PlayableNote[] {
  return playableNotes({ key, tuning: layout.id, temperament: 'equal', a4Hz: ISO_A4_HZ }, { layout });
}

function withPlayed<T>(usual: readonly T[], played: T | undefined, id: (item: T) => string): readonly T[] {
  if (played === undefined || usual.some((item) => id(item) === id(played))) return usual;
  return [...usual, played];
}

/** Cost of what is played today; a note that the harp does not have counts as missing. */
function pricePlayed(tune: Tune, played: PlayedOn, weights: Weights): ArrangedTune {
  const notes = notesOf(played.harp.key, played.layout);
  const choices = played.tab.map((tabNote) => {
    const note = findPlayable(notes, tabNote);
    return note ? choiceOf(note, notes) : null;
  });
  return priced(tune, choices, weights);
}

/** For practice, bends themselves cost nothing, but what makes them hard does, and so does a wrong number of them. */
function practiceCost(candidate: Candidate): number {
  const wanted = Math.max(1, Math.round(candidate.laid.choices.length / NOTES_PER_PRACTICE_BEND));
  const bends = candidate.laid.prices().parts.reduce((sum, parts) => sum + parts.bend, 0);
  if (candidate.bends === 0) return NO_PRACTICE + candidate.cost;
  return candidate.cost - bends + PRACTICE_MISS * Math.abs(candidate.bends - wanted);
}

/** Leaves out a tuning whose special reeds the tune does not touch, when a better placed one has the same arrangement. */
function withoutRepeats(candidates: readonly Candidate[]): Candidate[] {
  const seen = new Set<string>();
  // Several harps share an arrangement, each with its tune in another place.
  const tabs = new Map<ArrangedTune, string>();
  return candidates.filter(({ harp, transposeSemitones, octaveShift, laid }) => {
    const tab = tabs.get(laid) ?? laid.choices.map(signOf).join('');
    tabs.set(laid, tab);
    const id = [harp.key, transposeSemitones, octaveShift, tab].join(' ');
    if (seen.has(id)) return false;
    seen.add(id);
    return true;
  });
}

/** One character for where a note is and how it is played. */
function signOf(choice: Choice | null): string {
  if (choice === null) return '?';
  const { hole, breath, bend, over } = choice.note;
  return String.fromCharCode(0x100 + ((hole * 4 + bend) * 2 + Number(over)) * 2 + Number(breath === 'draw'));
}

/** Costs closer than this differ by rounding only. */
const SAME_COST = 1e-9;

function ranked(
  candidates: readonly Candidate[],
  worth: (candidate: Candidate) => number,
  tunings: readonly Layout[],
): Candidate[] {
  const keyed = candidates.map((candidate) => ({
    candidate,
    worth: worth(candidate),
    // Later entries only break ties between earlier ones.
    ties: [
      Math.abs(candidate.transposeSemitones),
      Math.abs(candidate.octaveShift),
      tunings.indexOf(candidate.layout),
      candidate.position,
    ],
  }));
  keyed.sort((a, b) => {
    if (a.candidate.missing !== b.candidate.missing) return a.candidate.missing - b.candidate.missing;
    if (a.worth !== b.worth && !(Math.abs(a.worth - b.worth) < SAME_COST)) return a.worth < b.worth ? -1 : 1;
    for (const [i, tie] of a.ties.entries()) {
      if (tie !== b.ties[i]) return tie - b.ties[i];
    }
    return 0;
  });
  return keyed.map(({ candidate }) => candidate);
}
