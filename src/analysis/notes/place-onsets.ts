import { median } from '../../statistics.ts';
import { CANDIDATES, type Frames } from '../pitch/frames.ts';
import { type PartialLevel, TICKS_PER_FRAME } from '../pitch/partial-level.ts';
import { frameAtTick, longestRest, pitchContour } from './contour.ts';
import { BACK_TICKS, heardOnset, refineOnset } from './onset.ts';
import type { CanGlide } from './pitches.ts';
import type { ReedSet, Segment } from './states.ts';

/** A stretch of one pitch, [fromTick, toTick). */
export interface PlacedPitch {
  readonly midi: number;
  readonly fromTick: number;
  readonly toTick: number;
  /** True if the pitch glided here from the one before, as a bend does. */
  readonly glide: boolean;
  /** Everything that sounds, if more than one pitch; `midi` is one of them. */
  readonly set?: ReedSet | undefined;
}

/** Shortest stretch, in ticks: 30 ms. */
export const SHORTEST = 6;
/** A glide is searched for this many ticks on each side of a boundary, and lasts at least this many. */
const GLIDE_SIDE = 12;
const GLIDE_TICKS = 4;
const WIDEST_GLIDE_SEMITONES = 3.5;
/** The longest scoop, in ticks, the deepest, and how far it must lead within the part that was heard. */
const LONGEST_SCOOP = 50;
const DEEPEST_SCOOP_SEMITONES = 2.2;
const LEAST_SCOOP_SEMITONES = 0.3;
/** A pitch held for longer than this, in ticks, is a note: a reed may drift up before the next note is played. */
const LONGEST_SCOOP_REST = 14;
/** A note's pitch is taken from a beginning of this length, in ticks; a note that begins this far off it was scooped. */
const EARLY_TICKS = 30;
const SCOOPED_SEMITONES = 0.25;
/** Tracing back, a candidate counts if it is this strong, this close to the last one, and this far from the note before. */
const WEAKEST_STRENGTH = 0.7;
const NEXT_SEMITONES = 0.4;
const OTHER_SEMITONES = 0.5;
/** Share of the note before that must remain when an onset is moved earlier. */
const LEAST_LEFT = 0.4;
/** The same for an onset heard by the network: while the note before is in full sound, what it hears is not this one. */
const LEAST_LEFT_HEARD = 0.75;

/** Decoded stretches with corrected onsets; a scoop that was decoded as a note of its own is joined to its note. */
export function placeOnsets(
  frames: Frames,
  partialLevel: PartialLevel,
  segments: readonly Segment[],
  canGlide: CanGlide,
): PlacedPitch[] {
  const placed: PlacedPitch[] = [];
  for (const { midi, fromFrame, toFrame, set } of segments) {
    const fromTick = fromFrame * TICKS_PER_FRAME;
    const toTick = toFrame * TICKS_PER_FRAME;
    const before = placed.at(-1);
    const near = before !== undefined && fromTick - before.toTick < BACK_TICKS;
    const slides =
      near && set === undefined && before.set === undefined && isSlide(frames, before.midi, midi, fromTick);
    if (slides && isScoop(frames, before, midi, fromTick, canGlide)) {
      placed[placed.length - 1] = { ...before, midi, toTick };
      continue;
    }
    const glides = slides && canGlide(before.midi, midi);
    const leaving = (share: number): number =>
      before === undefined
        ? 0
        : before.fromTick + Math.max(SHORTEST, Math.round(share * (before.toTick - before.fromTick)));
    const earliest = leaving(LEAST_LEFT);
    const early = pitchContour(frames, midi, fromTick, Math.min(toTick, fromTick + EARLY_TICKS));
    const risen = glides
      ? halfWay(frames, before.midi, midi, fromTick)
      : refineOnset(
          partialLevel,
          fromTick,
          toTick,
          wayUp(frames, fromTick, early, near ? before.midi : undefined),
          near ? before.midi : undefined,
          earliest,
        );
    // A scooped note sounds before it reaches its pitch.
    const rough = slides && !glides ? Math.min(fromTick, risen) : risen;
    const onset = heardOnset(frames.evidence, set?.midis ?? [midi], rough, leaving(LEAST_LEFT_HEARD), toTick);
    if (toTick - onset < SHORTEST) continue;
    if (before !== undefined && before.toTick > onset)
      placed[placed.length - 1] = { ...before, toTick: onset };
    placed.push({ midi, fromTick: onset, toTick, glide: glides, ...(set === undefined ? {} : { set }) });
  }
  return placed;
}

/**
 * The pitch of a note from before its boundary: traced back along the candidates that lead to it, as it may have been
 * scooped, but not onto the note before.
 */
function wayUp(
  frames: Frames,
  fromTick: number,
  early: Float32Array,
  previousMidi: number | undefined,
): Float32Array {
  const top = median(early);
  const pitch = new Float32Array(BACK_TICKS + EARLY_TICKS).fill(top);
  let last = early[0];
  if (Math.abs(last - top) < SCOOPED_SEMITONES) return pitch;
  for (let i = 0; i < early.length; i++) pitch[BACK_TICKS + i] = early[i];
  for (let i = BACK_TICKS - 1; i >= 0; i--) {
    const first = frameAtTick(frames, Math.max(0, fromTick - BACK_TICKS + i)) * CANDIDATES;
    for (let c = first; c < first + CANDIDATES && frames.candidateStrength[c] > WEAKEST_STRENGTH; c++) {
      const midi = frames.candidateMidi[c];
      if (previousMidi !== undefined && Math.abs(midi - previousMidi) < OTHER_SEMITONES) continue;
      if (Math.abs(midi - last) < NEXT_SEMITONES && midi > top - DEEPEST_SCOOP_SEMITONES) {
        last = midi;
        break;
      }
    }
    pitch[i] = last;
  }
  return pitch;
}

/**
 * Whether the stretch before a note is a scoop into it: no reed gives both pitches, and the lower one soon slid up, so it was
 * no note of its own.
 */
function isScoop(
  frames: Frames,
  before: PlacedPitch,
  midi: number,
  fromTick: number,
  canGlide: CanGlide,
): boolean {
  const rise = midi - before.midi;
  const isNear = before.toTick - before.fromTick <= LONGEST_SCOOP && fromTick - before.toTick <= 2;
  if (!isNear || rise <= 0 || rise > DEEPEST_SCOOP_SEMITONES || canGlide(before.midi, midi)) return false;
  const contour = pitchContour(frames, before.midi, before.fromTick, before.toTick);
  if (longestRest(contour) > LONGEST_SCOOP_REST) return false;
  const third = Math.max(1, Math.floor(contour.length / 3));
  return median(contour.subarray(-third)) - median(contour.subarray(0, third)) > LEAST_SCOOP_SEMITONES;
}

/** Where a glide passes half-way between its two pitches, near the decoded boundary; the boundary itself if that can't be seen. */
function halfWay(frames: Frames, fromMidi: number, toMidi: number, boundary: number): number {
  let last: number | null = null;
  for (let tick = Math.max(0, boundary - GLIDE_SIDE); tick < boundary + GLIDE_SIDE; tick++) {
    const frame = frameAtTick(frames, tick);
    if (frame >= frames.count) break;
    const share = (frames.candidateMidi[frame * CANDIDATES] - fromMidi) / (toMidi - fromMidi);
    if (share > -0.5 && share < 0.5) last = tick;
  }
  return last === null || last === boundary + GLIDE_SIDE - 1 ? boundary : last + 1;
}

/**
 * Whether the pitch moved from one to the other through what lies between: the strongest candidate stays within the middle
 * half of the interval for some time.
 */
function isSlide(frames: Frames, fromMidi: number, toMidi: number, boundary: number): boolean {
  const interval = toMidi - fromMidi;
  if (Math.abs(interval) > WIDEST_GLIDE_SEMITONES) return false;
  let between = 0;
  for (let tick = Math.max(0, boundary - GLIDE_SIDE); tick < boundary + GLIDE_SIDE; tick++) {
    const share = (frames.candidateMidi[frameAtTick(frames, tick) * CANDIDATES] - fromMidi) / interval;
    if (share > 0.25 && share < 0.75) between++;
  }
  return between >= GLIDE_TICKS;
}
