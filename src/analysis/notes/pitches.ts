import { bentPairs } from '../../harp/chords.ts';
import { HOLES } from '../../harp/layouts.ts';
import type { PlayableNote } from '../../harp/types.ts';
import { hzToMidi } from '../../units.ts';
import type { PitchState, ReedSet } from './states.ts';

/** Extra cost of beginning a bent or overblown pitch rather than a plain one, in nats. */
const BEND_COST = 1;
const OVER_COST = 3;
/** Pitches closer than this share one state, in semitones. */
const SAME_PITCH = 0.15;
/** The range of all harps: low G hole 1 to high G hole 10 overdraw. */
const LOWEST_MIDI = 48;
const HIGHEST_MIDI = 104;

/** The distinct pitches of a harp, each as cheap to begin as the plainest note that gives it. */
export function harpPitches(notes: readonly PlayableNote[]): PitchState[] {
  const states: { midi: number; cost: number }[] = [];
  for (const note of notes) {
    const midi = hzToMidi(note.f0Hz);
    const cost = note.over ? OVER_COST : note.bend > 0 ? BEND_COST : 0;
    const same = states.find((state) => Math.abs(state.midi - midi) < SAME_PITCH);
    if (same === undefined) states.push({ midi, cost });
    else if (cost < same.cost) Object.assign(same, { midi, cost });
  }
  const reeds = reedPitches(notes);
  return states.map((state) => ({ ...state, slidesFrom: reachBelow(state.midi, reeds) }));
}

/** How far a reed that gives a pitch can be bent below it, in semitones; 0 if no reed can. */
function reachBelow(midi: number, reeds: readonly (readonly number[])[]): number {
  return Math.max(0, ...reeds.filter((reed) => has(reed, midi)).map((reed) => midi - Math.min(...reed)));
}

const has = (pitches: readonly number[], midi: number): boolean =>
  pitches.some((pitch) => Math.abs(pitch - midi) < SAME_PITCH);

/** For each reed its natural pitch and its bends. */
function reedPitches(notes: readonly PlayableNote[]): number[][] {
  const reeds = new Map<string, number[]>();
  for (const { hole, breath, over, f0Hz } of notes) {
    const reed = `${hole} ${breath}`;
    if (!over) reeds.set(reed, [...(reeds.get(reed) ?? []), hzToMidi(f0Hz)]);
  }
  return [...reeds.values()];
}

/** Whether a player can slide from one pitch to another without a break; real-valued MIDI numbers. */
export type CanGlide = (fromMidi: number, toMidi: number) => boolean;

/** On a harp, only between the pitches of one reed: a hole's natural note and its bends. */
export function harpGlides(notes: readonly PlayableNote[]): CanGlide {
  const reeds = reedPitches(notes);
  return (from, to) => reeds.some((pitches) => has(pitches, from) && has(pitches, to));
}

/** While the harp is unknown, any slide may be a bend. */
export const anyGlide: CanGlide = () => true;

/** Every semitone in the range of all harps, for use while the harp is unknown. */
export function chromaticPitches(offsetSemitones: number): PitchState[] {
  const states: PitchState[] = [];
  for (let midi = LOWEST_MIDI; midi <= HIGHEST_MIDI; midi++)
    states.push({ midi: midi + offsetSemitones, cost: 0 });
  return states;
}

/**
 * How many holes a mouth covers at once, and how far apart two holes played around the tongue may be: a tongue is too broad for one
 * hole (common practice, no source). With two holes of which one between is blocked, 63 instead of 65 of 81 events of several holes
 * are right in the recordings of players to develop on.
 */
const MOST_HOLES = 5;
const SPLITS = [3, 4, 5];
/** Two reeds closer than this can't be told from one of them, in semitones. */
const LEAST_APART = 0.5;

/** Reeds that sound together and are closer than this are not bent on purpose, in semitones. */
const LEAST_APART_BENT = 1;

/**
 * Every combination of holes that one breath can sound: adjacent holes, two with the tongue between, shakes of two, and
 * two adjacent ones of which one is bent.
 */
export function reedSets(notes: readonly PlayableNote[]): ReedSet[] {
  const sets: ReedSet[] = [];
  for (const breath of ['blow', 'draw'] as const) {
    const reeds = notes
      .filter((note) => note.breath === breath && note.bend === 0 && !note.over)
      .map(({ hole, f0Hz }) => ({ hole, midi: hzToMidi(f0Hz) }))
      .sort((a, b) => a.midi - b.midi);
    const add = (shake: boolean, ...holes: number[]): void => {
      const sounding = reeds.filter(({ hole }) => holes.includes(hole));
      const midis = sounding.map(({ midi }) => midi);
      if (sounding.length < holes.length || midis.some((midi, i) => midi - midis[i - 1] < LEAST_APART))
        return;
      sets.push({ midis, holes: sounding.map(({ hole }) => hole), breath, shake });
    };
    for (let first = 1; first <= HOLES; first++) {
      for (let count = 2; count <= MOST_HOLES; count++)
        add(false, ...Array.from({ length: count }, (_, i) => first + i));
      for (const apart of SPLITS) add(false, first, first + apart);
      add(true, first, first + 1);
    }
    sets.push(...bentSets(notes.filter((note) => note.breath === breath)));
  }
  return sets;
}

/** Two adjacent holes of which one is bent, as in the double stops of blues. */
function bentSets(ofBreath: readonly PlayableNote[]): ReedSet[] {
  return bentPairs(ofBreath)
    .map((pair) => [...pair].sort((a, b) => a.f0Hz - b.f0Hz))
    .filter(([low, high]) => hzToMidi(high.f0Hz) - hzToMidi(low.f0Hz) >= LEAST_APART_BENT)
    .map((pair) => ({
      midis: pair.map(({ f0Hz }) => hzToMidi(f0Hz)),
      holes: pair.map(({ hole }) => hole),
      breath: pair[0].breath,
      bends: pair.map(({ bend }) => bend),
      shake: false,
    }));
}
