import { CONTOUR_STEP_SEC, type SoundEvent } from '../notes/events.ts';
import { meanStep, measuredPitches } from './played.ts';

/** No note is shorter: sixteenths at 240 quarter notes a minute last 62 ms. */
const SHORTEST_SEC = 0.06;
/**
 * A shorter event must be held like a reed, its pitch moving by no more than this from one 10 ms frame to the next, in
 * semitones; and a single reed must not be barely audible, in nats. Chosen by hand on the development recordings of players,
 * in place of a small network that did no better.
 */
const LONGEST_PIECE_SEC = 0.135;
const HELD_STEP = 0.053;
const HARDLY_HEARD_NATS = -1;
/** Events closer than this touch, in seconds. */
const TOUCH_SEC = 0.03;
/** A fragment this close to a note's pitch is its beginning or end, in semitones; others are dropped. */
const SAME_NOTE = 0.8;
/** An event of which the pitch network is this sure, in nats, is not a fragment. */
const SURE_NATS = 0.5;
/** The same for a chord, by its least certain reed. */
const SURE_CHORD_NATS = -1.5;
/** A dropped fragment of at least these log odds is reported, as it may have been a note. */
const OPEN_NATS = -1;

/** Whole notes, and fragments that belong to no note but may have been one. */
export interface JoinedEvents {
  readonly whole: readonly SoundEvent[];
  readonly doubtful: readonly SoundEvent[];
}

/**
 * Joins short fragments to the note that they touch: its beginning, before the reed speaks steadily, or its end, where the
 * breath gives out. A fragment of another pitch, such as part of a slide, is left out.
 */
export function joinFragments(events: readonly SoundEvent[]): JoinedEvents {
  const isPiece = events.map(
    (event) =>
      event.soundingNats < (event.set === undefined ? SURE_NATS : SURE_CHORD_NATS) && isPieceOfNote(event),
  );
  const taken = new Set<SoundEvent>();
  const joined: SoundEvent[] = [];
  events.forEach((event, i) => {
    if (isPiece[i]) return;
    const head =
      isPiece[i - 1] && touches(events[i - 1], event) && !isTail(events, i - 1) ? events[i - 1] : null;
    const tail = isPiece[i + 1] && isTail(events, i + 1) ? events[i + 1] : null;
    for (const fragment of [head, tail]) if (fragment !== null) taken.add(fragment);
    const whole = head === null ? event : withHead(head, event);
    joined.push(tail === null ? whole : { ...whole, offsetSec: tail.offsetSec });
  });
  const isLeft = (event: SoundEvent, i: number): boolean =>
    isPiece[i] && !taken.has(event) && Math.max(event.soundingNats, event.onsetNats) > OPEN_NATS;
  return { whole: joined, doubtful: events.filter(isLeft) };
}

/** Whether a fragment is the end of the note before it rather than the beginning of the next. */
function isTail(events: readonly SoundEvent[], at: number): boolean {
  const [before, fragment, after] = [events[at - 1], events[at], events[at + 1]];
  if (before === undefined || !touches(before, fragment)) return false;
  if (after === undefined || !touches(fragment, after)) return true;
  return Math.abs(before.midi - fragment.midi) < Math.abs(after.midi - fragment.midi);
}

function touches(a: SoundEvent, b: SoundEvent): boolean {
  return b.onsetSec - a.offsetSec < TOUCH_SEC && Math.abs(a.midi - b.midi) < SAME_NOTE;
}

function withHead(head: SoundEvent, event: SoundEvent): SoundEvent {
  const contourMidi = new Float32Array(
    Math.round((event.onsetSec - head.onsetSec) / CONTOUR_STEP_SEC) + event.contourMidi.length,
  ).fill(Number.NaN);
  const own = contourMidi.length - event.contourMidi.length;
  contourMidi.set(head.contourMidi.subarray(0, own));
  contourMidi.set(event.contourMidi, own);
  const { onsetSec, start, dipDb } = head;
  return { ...event, onsetSec, start, dipDb, contourMidi };
}

/**
 * Whether an event of which the pitch network is unsure is only a piece of a note: shorter than any note; or short and either
 * unsteady or barely audible, as in a scoop, at the end of a breath, or between two notes.
 */
function isPieceOfNote({ onsetSec, offsetSec, contourMidi, soundingNats, set }: SoundEvent): boolean {
  const sec = offsetSec - onsetSec;
  if (sec < SHORTEST_SEC) return true;
  if (sec >= LONGEST_PIECE_SEC) return false;
  return (
    meanStep(measuredPitches(contourMidi)) > HELD_STEP ||
    (set === undefined && soundingNats < HARDLY_HEARD_NATS)
  );
}
