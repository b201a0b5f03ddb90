import { longestRest } from '../notes/contour.ts';
import { CONTOUR_STEP_SEC, type SoundEvent } from '../notes/events.ts';

/** A slide that lasts no longer than this, and rests nowhere for this long, leads away from a note. */
const LONGEST_SLIDE_SEC = 0.25;
const LONGEST_REST_SEC = 0.07;
/** At the end of a breath the pitch rests as it dies away, but for no more than this share of the slide. */
const FALL_REST_SHARE = 0.7;
/**
 * Of what hardly sounds any more, and is not heard to begin, it may rest for more of it: of 279 short bends at the end of a breath five
 * sound as little, of 92 falls all that rest (development takes).
 */
const FADING_REST_SHARE = 0.9;
const FADING_NATS = 0.5;
const NOT_BEGUN_NATS = 0.3;
const WIDEST_SEMITONES = 3.5;
/** Events closer than this are continuous. */
const TOUCHING_SEC = 0.035;
/** A note is slid off only if it lasts this many times as long as the slide. */
const LONGER = 1.5;

/**
 * Joins falls to their notes. When a player slides down into a bend at the end of a breath, the decoder hears the bend as a
 * note of its own; if its pitch rests nowhere, it was none. Upward slides are left alone: a short bend may well be a note
 * in passing.
 */
export function joinFalls(events: readonly SoundEvent[]): SoundEvent[] {
  const joined: SoundEvent[] = [];
  for (const [i, event] of events.entries()) {
    const before = joined[joined.length - 1];
    if (before !== undefined && isFall(before, event, events[i + 1])) {
      joined[joined.length - 1] = { ...before, offsetSec: event.offsetSec, ...contourOf(before, event) };
    } else {
      joined.push(event);
    }
  }
  return joined;
}

/** Whether an event leads down from the note before it, with nothing after it in the same breath. */
function isFall(before: SoundEvent, event: SoundEvent, next: SoundEvent | undefined): boolean {
  const lengthSec = event.offsetSec - event.onsetSec;
  const fades = event.soundingNats < FADING_NATS && event.onsetNats < NOT_BEGUN_NATS;
  return (
    leadsInto(before, event, fades) &&
    (next === undefined || next.start === 'silence' || next.start === 'gap') &&
    event.midi < before.midi &&
    lengthSec <= LONGEST_SLIDE_SEC &&
    before.offsetSec - before.onsetSec >= LONGER * lengthSec &&
    longestRest(event.contourMidi) * CONTOUR_STEP_SEC <=
      Math.max(LONGEST_REST_SEC, (fades ? FADING_REST_SHARE : FALL_REST_SHARE) * lengthSec)
  );
}

/** Without a break, by a slide; if it fades, the decoder may have heard the slide as something else. */
function leadsInto(before: SoundEvent, after: SoundEvent, fades: boolean): boolean {
  return (
    (after.start === 'glide' || (fades && (after.start === 'slur' || after.start === 'rearticulation'))) &&
    before.set === undefined &&
    after.set === undefined &&
    after.onsetSec - before.offsetSec < TOUCHING_SEC &&
    Math.abs(after.midi - before.midi) < WIDEST_SEMITONES
  );
}

/** The pitches of two events as those of one, every 10 ms from the first one's onset. */
function contourOf(first: SoundEvent, second: SoundEvent): Pick<SoundEvent, 'contourMidi'> {
  const steps = Math.floor((second.offsetSec - first.onsetSec) / CONTOUR_STEP_SEC);
  const contourMidi = new Float32Array(steps).fill(Number.NaN);
  contourMidi.set(first.contourMidi.subarray(0, steps));
  const from = Math.round((second.onsetSec - first.onsetSec) / CONTOUR_STEP_SEC);
  contourMidi.set(second.contourMidi.subarray(0, Math.max(0, steps - from)), Math.min(from, steps));
  return { contourMidi };
}
