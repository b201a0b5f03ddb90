import type { Breath, PlayableNote } from './types.ts';

/** A chord as it lies on a harp. */
export interface ChordOnHarp {
  readonly breath: Breath;
  /** Ascending. */
  readonly holes: readonly number[];
  /** How far each of them is bent, in semitones, if one is. */
  readonly bends?: readonly number[] | undefined;
  /** The pitches that sound, and those that these holes don't have; ascending integer MIDI numbers. */
  readonly midis: readonly number[];
  readonly lost: readonly number[];
}

/** The most holes that a mouth covers at once. */
const MOST_HOLES = 5;
/** The furthest apart that two holes with the tongue between them can be. */
const WIDEST_SPLIT = 5;

/**
 * Whether one mouth can sound these holes at once: adjacent ones, or two with the tongue between them (common practice,
 * no source).
 */
export function areReachable(holes: readonly number[]): boolean {
  const span = holes[holes.length - 1] - holes[0];
  if (span === holes.length - 1) return holes.length <= MOST_HOLES;
  return holes.length === 2 && span <= WIDEST_SPLIT;
}

/**
 * The ways to play a chord on a harp, with reeds of one breath that one mouth can sound; those that lose fewest notes come
 * first, and of these the unbent ones. Only two adjacent holes may have a bend in them.
 * @param midis  ascending; the highest is the melody's and is never lost
 * @returns none when the highest pitch can't be played so; a way with one hole when no other pitch is within reach
 */
export function chordOnHarp(midis: readonly number[], harp: readonly PlayableNote[]): ChordOnHarp[] {
  const top = midis[midis.length - 1];
  const reeds = harp.filter((note) => note.bend === 0 && !note.over);
  const ways = reeds
    .filter(({ midi }) => midi === top)
    .map(({ breath, hole }): ChordOnHarp => {
      const beside = midis
        .slice(0, -1)
        .flatMap((midi) => reeds.filter((note) => note.breath === breath && note.midi === midi).slice(0, 1));
      const kept = largestReachable(beside, hole);
      return {
        breath,
        holes: [...kept.map((note) => note.hole), hole].sort((a, b) => a - b),
        midis: [...kept.map(({ midi }) => midi), top].sort((a, b) => a - b),
        lost: midis.slice(0, -1).filter((midi) => !kept.some((note) => note.midi === midi)),
      };
    });
  return [...ways, ...bentWays(midis, harp)].sort((a, b) => a.lost.length - b.lost.length);
}

/** The two-note chord of two adjacent holes of which one is bent. */
function bentWays(midis: readonly number[], harp: readonly PlayableNote[]): ChordOnHarp[] {
  if (midis.length !== 2) return [];
  const [low, top] = midis;
  return bentPairs(harp)
    .filter(([a, b]) => Math.min(a.midi, b.midi) === low && Math.max(a.midi, b.midi) === top)
    .map((pair) => ({
      breath: pair[0].breath,
      holes: pair.map(({ hole }) => hole),
      bends: pair.map(({ bend }) => bend),
      midis,
      lost: [],
    }));
}

/** Any two adjacent holes of one breath of which one is bent, the lower hole first (common practice, no source). */
export function bentPairs(harp: readonly PlayableNote[]): (readonly [PlayableNote, PlayableNote])[] {
  const reeds = harp.filter(({ over }) => !over);
  return reeds
    .filter(({ bend }) => bend > 0)
    .flatMap((bent) =>
      reeds
        .filter(
          ({ hole, breath, bend }) =>
            bend === 0 && breath === bent.breath && Math.abs(hole - bent.hole) === 1,
        )
        .map((plain) => (plain.hole < bent.hole ? ([plain, bent] as const) : ([bent, plain] as const))),
    );
}

/** A chord whose highest note is played as `note`; undefined where no mouth can do that. */
export function chordAt(
  midis: readonly number[],
  { hole, breath, bend, over }: PlayableNote,
  harp: readonly PlayableNote[],
): ChordOnHarp | undefined {
  if (over) return undefined;
  return chordOnHarp(midis, harp).find(
    (way) =>
      way.breath === breath &&
      way.holes.includes(hole) &&
      (way.bends?.[way.holes.indexOf(hole)] ?? 0) === bend,
  );
}

/**
 * The largest subset of these reeds that one mouth can sound together with a hole. There are four at most, so all
 * subsets are tried.
 */
function largestReachable(beside: readonly PlayableNote[], hole: number): readonly PlayableNote[] {
  let best: readonly PlayableNote[] = [];
  for (let choice = 1; choice < 1 << Math.min(beside.length, MOST_HOLES - 1); choice++) {
    const chosen = beside.filter((_, i) => ((choice >> i) & 1) === 1);
    const holes = [...new Set([hole, ...chosen.map((note) => note.hole)])].sort((a, b) => a - b);
    if (holes.length === chosen.length + 1 && chosen.length > best.length && areReachable(holes))
      best = chosen;
  }
  return best;
}
