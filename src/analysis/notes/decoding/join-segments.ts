import { mostOnset, type PitchEvidence, rowOf } from '../../pitch/evidence.ts';
import type { Frames } from '../../pitch/frames.ts';
import type { ReedSet, Segment } from '../states.ts';

/** Segments closer than this touch, in frames. */
const TOUCHING = 1;
/** An onset is searched for within this many frames of the boundary. */
const AROUND = 4;
/** Log odds above which a note begins there. */
const BEGINS = -0.5;
/** A reed belongs to the whole note if it sounds for this share of it. */
const LEAST_SHARE = 0.55;

/**
 * Joins segments that belong to one note: those of the same pitch, and, where no onset is heard, those that differ by one
 * reed, since a reed that leaks into a held note or falls silent does not begin a new note.
 */
export function joinSegments(
  segments: readonly Segment[],
  { evidence }: Frames,
  sets: readonly ReedSet[],
): Segment[] {
  const groups: Segment[][] = [];
  for (const segment of segments) {
    const group = groups.at(-1);
    if (group !== undefined && goesOn(group[group.length - 1], segment, evidence)) group.push(segment);
    else groups.push([segment]);
  }
  return groups.map((group) => (group.length === 1 ? group[0] : whole(group, sets)));
}

const pitchesOf = ({ midi, set }: Segment): readonly number[] => set?.midis ?? [midi];

function goesOn(before: Segment, after: Segment, evidence: PitchEvidence): boolean {
  if (before.set?.shake === true || after.set?.shake === true) return false;
  if (after.fromFrame - before.toFrame > TOUCHING) return false;
  // For single pitches a re-articulation is found later, from the level as well.
  if (before.set === undefined && after.set === undefined) return before.midi === after.midi;
  const earlier = pitchesOf(before);
  const later = pitchesOf(after);
  const isIn = (midi: number, others: readonly number[]): boolean =>
    others.some((other) => rowOf(evidence, other) === rowOf(evidence, midi));
  const [fewer, more] = earlier.length < later.length ? [earlier, later] : [later, earlier];
  if (!fewer.every((midi) => isIn(midi, more))) return false;
  const rows = later.map((midi) => rowOf(evidence, midi));
  return mostOnset(evidence, rows, after.fromFrame - AROUND, after.fromFrame + AROUND + 1) < BEGINS;
}

/** Merges segments into one, with the reeds that sound for most of it. */
function whole(group: readonly Segment[], sets: readonly ReedSet[]): Segment {
  const { fromFrame } = group[0];
  const { toFrame } = group[group.length - 1];
  const framesOf = new Map<number, number>();
  for (const segment of group) {
    for (const midi of pitchesOf(segment))
      framesOf.set(midi, (framesOf.get(midi) ?? 0) + segment.toFrame - segment.fromFrame);
  }
  const lasting = [...framesOf].filter(([, frames]) => frames >= LEAST_SHARE * (toFrame - fromFrame));
  const midis = lasting.map(([midi]) => midi).sort((a, b) => a - b);
  const set = sets.find(
    (one) =>
      !one.shake && one.midis.length === midis.length && one.midis.every((midi, i) => midi === midis[i]),
  );
  if (set !== undefined) return { midi: midis[0], fromFrame, toFrame, set };
  const [longest] = [...framesOf].reduce((most, one) => (one[1] > most[1] ? one : most));
  return { midi: longest, fromFrame, toFrame };
}
