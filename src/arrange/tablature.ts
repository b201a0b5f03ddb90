import type { PlayableNote } from '../harp/types.ts';
import { type Choice, type CostParts, type LungLevel, lungsAfter, noteCost, sumOf } from './cost.ts';
import type { Tune } from './tune.ts';
import type { Weights } from './weights.ts';

/** What the player can do. */
export interface Skill {
  readonly bends: 'none' | 'draw' | 'all';
  readonly over: boolean;
}

/** A tune laid on one harp. */
export interface ArrangedTune {
  /** One a note; null where the harp (or the player) has no such note. */
  readonly choices: readonly (Choice | null)[];
  readonly parts: readonly CostParts[];
  /** Lungs after each note. */
  readonly lungs: readonly LungLevel[];
  readonly cost: number;
}

/** The notes of a harp by MIDI number, as far as the player can play them. */
export type Choices = ReadonlyMap<number, readonly Choice[]>;

/** Sorts a harp's notes by pitch, leaving out what the player can't do. */
export function choicesOf(notes: readonly PlayableNote[], skill: Skill): Choices {
  const choices = new Map<number, Choice[]>();
  for (const note of notes) {
    if (!isWithin(note, skill)) continue;
    const list = choices.get(note.midi) ?? [];
    list.push(choiceOf(note, notes));
    choices.set(note.midi, list);
  }
  return choices;
}

/** A note with what its cost needs to know of its harp. */
export function choiceOf(note: PlayableNote, notes: readonly PlayableNote[]): Choice {
  const inBetween =
    note.bend > 0 && notes.some((other) => other.hole === note.hole && !other.over && other.bend > note.bend);
  return { note, inBetween };
}

/** Whether a player can play a note. */
export function isWithin(note: PlayableNote, skill: Skill): boolean {
  if (note.over) return skill.over;
  if (note.bend === 0 || skill.bends === 'all') return true;
  return skill.bends === 'draw' && note.breath === 'draw';
}

/** A best way of reaching one choice with one level of lungs. */
interface State {
  readonly choice: Choice | null;
  readonly level: LungLevel;
  readonly cost: number;
  readonly from: State | null;
}

/**
 * The cheapest lay-out of a tune (dynamic programming over choice and lungs; exact for the cost of `priced`).
 * @param shift  semitones added to every note of the tune
 */
export function arrangeTune(tune: Tune, choices: Choices, shift: number, weights: Weights): ArrangedTune {
  let states: State[] = [{ choice: null, level: 0, cost: 0, from: null }];
  for (const tuneNote of tune.notes) {
    const options: readonly (Choice | null)[] = choices.get(tuneNote.midi + shift) ?? [null];
    const next: State[] = [];
    for (const choice of options) {
      const byLevel = new Map<LungLevel, State>();
      for (const from of states) {
        const level = lungsAfter(from.level, tuneNote, choice);
        const cost = from.cost + sumOf(noteCost(tuneNote, choice, from.choice, level, weights));
        const best = byLevel.get(level);
        if (best === undefined || cost < best.cost) byLevel.set(level, { choice, level, cost, from });
      }
      next.push(...byLevel.values());
    }
    states = next;
  }
  let state = states.reduce((best, candidate) => (candidate.cost < best.cost ? candidate : best));
  const path: (Choice | null)[] = [];
  while (state.from !== null) {
    path.push(state.choice);
    state = state.from;
  }
  return priced(tune, path.reverse(), weights);
}

/** What a given lay-out costs, note by note; `choices` has one entry for each note of the tune. */
export function priced(tune: Tune, choices: readonly (Choice | null)[], weights: Weights): ArrangedTune {
  const parts: CostParts[] = [];
  const lungs: LungLevel[] = [];
  let level: LungLevel = 0;
  let cost = 0;
  for (const [i, tuneNote] of tune.notes.entries()) {
    level = lungsAfter(level, tuneNote, choices[i]);
    const part = noteCost(tuneNote, choices[i], i === 0 ? null : choices[i - 1], level, weights);
    parts.push(part);
    lungs.push(level);
    cost += sumOf(part);
  }
  return { choices, parts, lungs, cost };
}
