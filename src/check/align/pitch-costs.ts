import type { AlignCosts } from '../../decode/alignment.ts';
import type { TabNote } from '../../tab/tab-note.ts';
import { KindCosts, kindOf } from './kind-costs.ts';
import type { PlayedNote } from './played.ts';
import type { ReferenceNote } from './reference.ts';

/**
 * How often things go wrong, as costs relative to each other: a changed note is likelier than one added and another
 * missed; going back over two notes is likelier than adding both. [set on hand-made takes, tests/check]
 */
export const COSTS = {
  added: 0.75,
  /** A note that can't count against the student and matches nothing. */
  ignored: 0.01,
  missed: 0.75,
  back: 1.1,
  /** … to the beginning of a bar or line, as people do. */
  backToStart: 0.95,
  wrong: 1.1,
  neighbour: 0.9,
  octave: 0.7,
  otherBend: 0.6,
  otherHole: 0.03,
  /**
   * When all holes differ, sounding when they should not or silent when they should sound; a share of them costs that
   * share.
   */
  otherHoles: 0.6,
  /** A note this far from its time costs this much more; one further off costs no more than that. */
  time: 0.5,
  timeAtBeats: 1,
} as const;

/**
 * The costs of aligning a take with a tune by pitch alone.
 * @param shift  semitones that the student plays above what is written
 * @param backFor factor on the cost of going back
 */
export function pitchCosts(
  played: readonly PlayedNote[],
  notes: readonly ReferenceNote[],
  shift: number,
  backFor = 1,
): Required<AlignCosts> {
  const costs = new KindCosts(
    played.map(({ midis, tab, onlyFor }) => kindOf(midis, tab, onlyFor === true)),
    notes.map(({ midi, chord, tab }) => kindOf(chord ?? [midi], tab, chord !== undefined)),
    (a, b) => pairCost(played[a], notes[b], shift),
  );
  return {
    pair: (a, b) => costs.of(a, b),
    added: (a) => (played[a].onlyFor ? COSTS.ignored : COSTS.added),
    missed: () => COSTS.missed,
    back: (b) => backFor * (startsBar(notes, b) ? COSTS.backToStart : COSTS.back),
  };
}

function pairCost(played: PlayedNote, wanted: ReferenceNote, shift: number): number {
  if (played.onlyFor && played.midi !== wanted.midi + shift) return Number.POSITIVE_INFINITY;
  if (played.midis.length > 1 || wanted.chord !== undefined) {
    const { common, missing, extra } = compareSounds(played.midis, wanted, shift);
    const all = common.length + missing.length + extra.length;
    return common.length === 0 ? COSTS.wrong : COSTS.otherHoles * (1 - common.length / all);
  }
  const apart = played.midi - wanted.midi - shift;
  if (apart === 0) return wanted.tab === null || sameReed(played.tab, wanted.tab) ? 0 : COSTS.otherHole;
  if (apart % 12 === 0) return COSTS.octave;
  if (wanted.tab !== null && sameReed(played.tab, wanted.tab) && Math.abs(apart) === 1)
    return COSTS.otherBend;
  return Math.abs(apart) <= 2 ? COSTS.neighbour : COSTS.wrong;
}

/** Wanted pitches that sound, those that don't, and other pitches that sound; integer MIDI numbers as played. */
export function compareSounds(
  midis: readonly number[],
  { midi, chord = [midi] }: Pick<ReferenceNote, 'midi' | 'chord'>,
  shift: number,
): { common: readonly number[]; missing: readonly number[]; extra: readonly number[] } {
  const wanted = chord.map((each) => each + shift);
  return {
    common: midis.filter((each) => wanted.includes(each)),
    missing: wanted.filter((each) => !midis.includes(each)),
    extra: midis.filter((each) => !wanted.includes(each)),
  };
}

/** True when both are played on one hole in one breath. */
export function sameReed(a: TabNote, b: TabNote): boolean {
  return a.hole === b.hole && a.breath === b.breath && a.over === b.over;
}

function startsBar(notes: readonly ReferenceNote[], b: number): boolean {
  return b === 0 || notes[b].line !== notes[b - 1].line || notes[b].bar !== notes[b - 1].bar;
}
