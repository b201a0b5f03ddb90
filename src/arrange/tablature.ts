import type { PlayableNote } from '../harp/types.ts';
import {
  type Choice,
  type CostParts,
  type LungLevel,
  lungsAfter,
  noCost,
  noteCost,
  type Scratch,
  sumOf,
} from './cost.ts';
import type { Tune } from './tune.ts';
import type { Weights } from './weights.ts';

/** What the player can do. */
export interface Skill {
  readonly bends: 'none' | 'draw' | 'all';
  readonly over: boolean;
}

/** A tune arranged for one harp. */
export interface ArrangedTune {
  /** One per note; null where the harp (or the player) has no such note. */
  readonly choices: readonly (Choice | null)[];
  readonly cost: number;
  /** Computed at each call: kept for all harps, they would fill memory. */
  prices(): Prices;
}

/** What an arrangement costs note by note. */
export interface Prices {
  readonly parts: readonly CostParts[];
  /** Lungs after each note. */
  readonly lungs: readonly LungLevel[];
}

/** The notes of a harp by MIDI number, as far as the player can play them. */
export type Choices = ReadonlyMap<number, readonly Choice[]>;

/** Sorts a harp's notes by pitch, leaving out what the player can't do. */
export function choicesOf(notes: readonly PlayableNote[], skill: Skill): Choices {
  const choices = new Map<number, Choice[]>();
  const within = notes.filter((note) => isWithin(note, skill));
  for (const note of within) {
    const list = choices.get(note.midi) ?? [];
    list.push(choiceOf(note, notes, within));
    choices.set(note.midi, list);
  }
  return choices;
}

/**
 * A note, with what its cost depends on.
 * @param within  the notes of the harp that the player can play
 */
export function choiceOf(
  note: PlayableNote,
  notes: readonly PlayableNote[],
  within: readonly PlayableNote[] = notes,
): Choice {
  const inBetween =
    note.bend > 0 && notes.some((other) => other.hole === note.hole && !other.over && other.bend > note.bend);
  return { note, inBetween, harp: within };
}

/** Whether a player can play a note. */
export function isWithin(note: PlayableNote, skill: Skill): boolean {
  if (note.over) return skill.over;
  if (note.bend === 0 || skill.bends === 'all') return true;
  return skill.bends === 'draw' && note.breath === 'draw';
}

/**
 * The cheapest arrangement of a tune (dynamic programming over choice and lungs; exact for the cost of `priced`).
 * @param shift  semitones added to every note of the tune
 */
export function arrangeTune(tune: Tune, choices: Choices, shift: number, weights: Weights): ArrangedTune {
  const optionsOf = (i: number): readonly (Choice | null)[] =>
    choices.get(tune.notes[i].midi + shift) ?? NOT_TO_BE_HAD;
  const ways = new Ways();
  let states: readonly State[] = [{ choice: null, level: 0, cost: 0, way: NO_WAY }];
  for (const [i, tuneNote] of tune.notes.entries()) {
    const next: State[] = [];
    for (const [option, choice] of optionsOf(i).entries()) {
      const byLevel = new Map<LungLevel, State>();
      for (const from of states) {
        const level = lungsAfter(from.level, tuneNote, choice);
        const cost = from.cost + sumOf(noteCost(tuneNote, choice, from.choice, level, weights, SCRATCH));
        const best = byLevel.get(level);
        if (best === undefined) byLevel.set(level, { choice, level, cost, way: from.way });
        else if (cost < best.cost) {
          best.cost = cost;
          best.way = from.way;
        }
      }
      for (const state of byLevel.values()) {
        state.way = ways.add(option, state.way);
        next.push(state);
      }
    }
    states = next;
  }
  const { way } = states.reduce((best, candidate) => (candidate.cost < best.cost ? candidate : best));
  return priced(
    tune,
    ways.optionsOf(way).map((option, i) => optionsOf(i)[option]),
    weights,
  );
}

const NOT_TO_BE_HAD: readonly null[] = [null];
const NO_WAY = -1;
const FIRST_WAYS = 1024;

/** The cheapest path to one choice with one level of lungs. */
interface State {
  readonly choice: Choice | null;
  readonly level: LungLevel;
  cost: number;
  way: number;
}

/** Every step of every path, as two numbers: objects for a long tune would take up most of the memory. */
class Ways {
  #count = 0;
  #from = new Int32Array(FIRST_WAYS);
  #option = new Uint8Array(FIRST_WAYS);

  /** @returns the path that extends another by an option */
  add(option: number, from: number): number {
    if (this.#count === this.#from.length) {
      this.#from = enlarged(this.#from, new Int32Array(2 * this.#count));
      this.#option = enlarged(this.#option, new Uint8Array(2 * this.#count));
    }
    this.#from[this.#count] = from;
    this.#option[this.#count] = option;
    return this.#count++;
  }

  /** The options along a path, first to last. */
  optionsOf(way: number): number[] {
    const options: number[] = [];
    for (let at = way; at !== NO_WAY; at = this.#from[at]) options.push(this.#option[at]);
    return options.reverse();
  }
}

function enlarged<T extends Int32Array | Uint8Array>(from: T, to: T): T {
  to.set(from);
  return to;
}

const SCRATCH = noCost();

/** The cost of a given arrangement; `choices` has one entry for each note of the tune. */
export function priced(tune: Tune, choices: readonly (Choice | null)[], weights: Weights): ArrangedTune {
  let cost = 0;
  eachPrice(tune, choices, weights, (_level, costOf) => {
    cost += sumOf(costOf(SCRATCH));
  });
  return {
    choices,
    cost,
    prices() {
      const parts: CostParts[] = [];
      const lungs: LungLevel[] = [];
      eachPrice(tune, choices, weights, (level, costOf) => {
        parts.push(costOf(noCost()));
        lungs.push(level);
      });
      return { parts, lungs };
    },
  };
}

function eachPrice(
  tune: Tune,
  choices: readonly (Choice | null)[],
  weights: Weights,
  take: (level: LungLevel, costOf: (into: Scratch) => CostParts) => void,
): void {
  let level: LungLevel = 0;
  for (const [i, tuneNote] of tune.notes.entries()) {
    level = lungsAfter(level, tuneNote, choices[i]);
    const previous = i === 0 ? null : choices[i - 1];
    take(level, (into) => noteCost(tuneNote, choices[i], previous, level, weights, into));
  }
}
