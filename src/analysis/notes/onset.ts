import { meanOnset, type PitchEvidence, rowOf } from '../pitch/evidence.ts';
import { type PartialLevel, TICKS_PER_FRAME } from '../pitch/partial-level.ts';

/** How far before and after the decoded boundary the level of the new pitch is examined, in ticks. */
export const BACK_TICKS = 36;
const AHEAD = 20;
/** The onset is where the level last rises through this far below its early peak (chosen between slurs and attacks). */
const BELOW_PEAK_DB = 12;
/** If a tail or noise hides that point, the onset is where the level has risen by this share of the visible rise. */
const SHARE_OF_RISE = 0.75;
const NEAR_PEAK_DB = 3;
/**
 * A first note of quick repeats can be softer than the next: an earlier crest less than this far below the peak is one if the
 * level dips by this after it.
 */
const FIRST_CREST_DB = 10;
const REPEAT_DIP_DB = 5;

/**
 * First tick of a note, from the level of its own partials except those shared with the note before. In a room the tail of
 * the last note is louder than the new one for up to a tenth of a second, during which the new one already sounds.
 * @param tick  decoded boundary
 * @param pitch  the new note's pitch from BACK_TICKS before the boundary on, real-valued MIDI
 * @param previousMidi  pitch of the note before, if it ends nearby
 * @param earliest  the result is no earlier than this tick
 */
export function refineOnset(
  partialLevel: PartialLevel,
  tick: number,
  endTick: number,
  pitch: Float32Array,
  previousMidi: number | undefined,
  earliest: number,
): number {
  const from = tick - BACK_TICKS;
  const level = smooth(
    partialLevel.measure(
      from,
      pitch.subarray(0, BACK_TICKS + Math.min(AHEAD + 4, endTick - tick)),
      previousMidi,
    ),
  );
  const ahead = level.subarray(BACK_TICKS, Math.min(level.length, BACK_TICKS + AHEAD));
  if (ahead.length === 0) return tick;
  const peak = Math.max(...ahead);
  let at = firstCrest(level, BACK_TICKS + ahead.findIndex((value) => value >= peak - NEAR_PEAK_DB), peak);
  let lowest = peak;
  for (let i = 0; i <= at; i++) lowest = Math.min(lowest, level[i]);
  const threshold = peak - Math.min(BELOW_PEAK_DB, (peak - lowest) * SHARE_OF_RISE);
  while (at > 0 && level[at - 1] >= threshold) at--;
  return Math.max(earliest, from + at);
}

/** The crest of a softer note that is struck again before the level comes near its peak, or else where it does. */
function firstCrest(level: Float32Array, nearPeak: number, peak: number): number {
  let crest = BACK_TICKS;
  for (let i = BACK_TICKS + 1; i < nearPeak; i++) {
    if (level[i] > level[crest]) crest = i;
    else if (level[crest] > peak - FIRST_CREST_DB && level[i] < level[crest] - REPEAT_DIP_DB) return crest;
  }
  return nearPeak;
}

/** The network's onset is searched for within this many frames of where the level rises. */
const HEARD_FRAMES = 20;
/** It is used if it is more likely than an onset where the level rises by this, in nats, and not nearly ruled out. */
const HEARD_NATS = 1.5;
const LEAST_HEARD_NATS = -2.5;
/** Each frame of distance costs this much. */
const NATS_PER_FRAME = 0.05;
/**
 * What is heard this many frames later, or more, is the next note if this one was heard to begin where its level rises. In
 * 264 takes of `--set hard` 13 first notes of quick repeats were skipped without that.
 */
const NOTE_FRAMES = 7;
/** Closer than this the level is the more precise, in frames. */
const SAME_FRAMES = 2;

/**
 * First tick of a note where the network hears it begin, if that is clearly not where its level rises: the tail of the last
 * note, the room, or holes left by a codec can hide the rise.
 * @param midis  all pitches of the note
 * @param tick  where its level rises
 * @param earliest  the result is no earlier than this tick
 */
export function heardOnset(
  evidence: PitchEvidence,
  midis: readonly number[],
  tick: number,
  earliest: number,
  toTick: number,
): number {
  const rows = midis.map((midi) => rowOf(evidence, midi));
  const frame = Math.floor(tick / TICKS_PER_FRAME);
  const last = Math.min(frame + HEARD_FRAMES, Math.floor((tick + toTick) / 2 / TICKS_PER_FRAME));
  let here = Number.NEGATIVE_INFINITY;
  let best = frame;
  let bestNats = Number.NEGATIVE_INFINITY;
  const first = Math.max(Math.ceil(earliest / TICKS_PER_FRAME), frame - HEARD_FRAMES);
  for (let at = Math.min(first, frame - SAME_FRAMES); at <= last; at++) {
    const heard = meanOnset(evidence, rows, at);
    const away = Math.abs(at - frame);
    if (away <= SAME_FRAMES) here = Math.max(here, heard);
    else if (at >= frame + NOTE_FRAMES && here > LEAST_HEARD_NATS) break;
    else if (heard > LEAST_HEARD_NATS && heard - NATS_PER_FRAME * away > bestNats) {
      bestNats = heard - NATS_PER_FRAME * away;
      best = at;
    }
  }
  return bestNats > here + HEARD_NATS ? best * TICKS_PER_FRAME : tick;
}

function smooth(level: Float32Array): Float32Array {
  return level.map((value, i) => {
    const before = level[Math.max(0, i - 1)];
    const after = level[Math.min(level.length - 1, i + 1)];
    return 0.25 * before + 0.5 * value + 0.25 * after;
  });
}
