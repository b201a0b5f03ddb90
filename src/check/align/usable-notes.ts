import type { PlayableNote } from '../../harp/types.ts';
import { median } from '../../statistics.ts';
import type { Take } from '../../take/schema.ts';
import { sameReed } from './pitch-costs.ts';
import { nominalMidi, type Reference } from './reference.ts';

type TakeNote = Take['notes'][number];

/** A note less sure than this, which was more likely not played at all, does not count against the student. */
const LEAST_SURE = 0.4;
/** Anything shorter than this share of the tune's shortest note is the beginning or end of another note. */
const SHORTEST_SHARE = 0.35;
/**
 * … but no longer than this, in seconds, which also applies if the tune gives no lengths: nobody plays fifteen notes
 * per second.
 */
const SHORTEST_SEC = 0.09;
const SHORTEST_UNTIMED_SEC = 0.06;
/** Notes with a gap no longer than this touch, in seconds. */
const TOUCHES_SEC = 0.015;
/** … unless it is this sure to be a note of its own. */
const VERY_SURE = 0.9;
const SHORTEST_SURE_SEC = 0.035;

/** The notes of a take that can count against a student: sure enough, and long enough to have been meant. */
export function usableNotes(take: Take, reference: Reference, harp: readonly PlayableNote[]): TakeNote[] {
  const shortestSec = shortestNote(take.notes, reference);
  return take.notes.filter((note, i) => {
    const next = take.notes[i + 1];
    const untilSec = Math.max(note.offsetSec, next?.onsetSec ?? Number.POSITIVE_INFINITY);
    const sec = untilSec - note.onsetSec;
    const before = take.notes[i - 1];
    // The room may have split this part off the same note.
    const isOwn = ![before, next].some(
      (other) => other !== undefined && nominalMidi(harp, other) === nominalMidi(harp, note),
    );
    const shortest =
      isOwn && sureOfPitch(note, harp) >= VERY_SURE ? Math.min(shortestSec, SHORTEST_SURE_SEC) : shortestSec;
    return isSureOfPitch(note, harp) && sec >= shortest;
  });
}

/**
 * Whether a note too short to have been meant touches one of its pitch: then it is the beginning or end of that note,
 * and can't match a note of its own either.
 */
export function isPartOf(
  note: TakeNote,
  neighbours: readonly (TakeNote | undefined)[],
  harp: readonly PlayableNote[],
): boolean {
  return neighbours.some(
    (other) =>
      other !== undefined &&
      note.offsetSec - note.onsetSec < SHORTEST_UNTIMED_SEC &&
      Math.max(other.onsetSec - note.offsetSec, note.onsetSec - other.offsetSec) <= TOUCHES_SEC &&
      nominalMidi(harp, other) === nominalMidi(harp, note),
  );
}

/** Whether a note was more likely played than not, so that it can count against the student. */
export const isSureOfPitch = (note: TakeNote, harp: readonly PlayableNote[]): boolean =>
  sureOfPitch(note, harp) >= LEAST_SURE;

/**
 * How sure it is that this pitch, or the bend next to it on the same reed, was played, on whatever hole: a bend that is
 * half a semitone off lies between two, and is off whichever was meant.
 */
function sureOfPitch(note: TakeNote, harp: readonly PlayableNote[]): number {
  const midi = nominalMidi(harp, note);
  return note.alternatives.reduce((sum, other) => {
    const isAlike =
      nominalMidi(harp, { ...other, midi: -1 }) === midi ||
      (sameReed(other, note) && Math.abs(other.bend - note.bend) === 1);
    return sum + (isAlike ? other.confidence : 0);
  }, note.confidence);
}

function shortestNote(notes: readonly TakeNote[], reference: Reference): number {
  const steps = positiveSteps(reference.notes.map(({ onset }) => onset));
  const played = positiveSteps(notes.map(({ onsetSec }) => onsetSec));
  if (!reference.timed || steps.length === 0 || played.length === 0) return SHORTEST_UNTIMED_SEC;
  const unitSec = median(played) / median(steps);
  const shortest = steps.reduce((least, step) => Math.min(least, step));
  return Math.min(SHORTEST_SEC, SHORTEST_SHARE * shortest * unitSec);
}

const positiveSteps = (onsets: readonly number[]): number[] =>
  onsets.slice(1).flatMap((onset, i) => (onset > onsets[i] ? [onset - onsets[i]] : []));
