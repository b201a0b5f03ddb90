import { findPlayable } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import { UNMEASURED } from '../../holes/redecode.ts';
import type { Note } from '../../tab/note.ts';
import { sameTab, type TabNote, tabOf } from '../../tab/tab-note.ts';
import { formatTabNote } from '../../tab/text.ts';
import { centsBetween, hzToMidi, midiToHz } from '../../units.ts';
import { nearest, offerAfter, readingsOf } from '../state/doubt.ts';
import { type Step, say, type UiState } from '../state/state.ts';
import { act, type CommandContext, noteAt, still } from './act.ts';

/** A reading further off than this can't be the pitch that was measured. */
const ANOTHER_PITCH_CENTS = 150;
/** A reading further from the measured pitch than this is worth a word. */
const FAR_CENTS = 60;

/** Gives the current note another reading, and finds out what else that may mean. */
function read(context: CommandContext, as: TabNote, ring: UiState['ring'] = null): Step {
  const { state } = context;
  const note = noteAt(state);
  const before = tabOf(note);
  const f0Hz = measureAgain(state, note, as);
  const step = act(context, { kind: 'read', ids: [note.id], as, f0Hz }, `it is ${formatTabNote(as)} already`);
  if (step.effects.length === 0) return step;
  const { notes } = step.state.edited.take;
  const offer = sameTab(before, as) ? null : offerAfter(notes, state.at, before, state.playable);
  const far = Math.round(notes[state.at].cents);
  const message =
    Math.abs(far) > FAR_CENTS
      ? {
          text: `${formatTabNote(as)} is ${Math.abs(far)} cents ${far > 0 ? 'below' : 'above'} what was heard`,
          tone: 'plain' as const,
        }
      : null;
  return { ...step, state: { ...step.state, offer, ring, message } };
}

/** The pitch near a reading that is far from the measured one: an octave is easily taken for another. */
function measureAgain(state: UiState, note: Note, as: TabNote): number | undefined {
  const target = findPlayable(state.playable, as);
  if (state.ears === null || target === undefined) return undefined;
  if (Math.abs(centsBetween(note.f0Hz, target.f0Hz)) < ANOTHER_PITCH_CENTS) return undefined;
  const midi = state.ears.pitch(note.onsetSec, note.offsetSec, hzToMidi(target.f0Hz), 0);
  return midi === null ? undefined : midiToHz(midi);
}

/** The reading nearest to the measured pitch among those that fit. */
export function readNearest(
  context: CommandContext,
  fits: (note: PlayableNote) => boolean,
  missing: string,
): Step {
  const note = noteAt(context.state);
  const candidates = context.state.playable.filter(fits);
  // A note that was never measured has no pitch to go by: the plain reading comes first.
  const plain = candidates.find((each) => each.bend === 0 && !each.over && each.breath === note.breath);
  const [closest] = nearest(candidates, note.f0Hz);
  const usual = candidates.filter((each) => !each.over);
  // An overbend is only meant where nothing else fits, and it does.
  const isClose = closest !== undefined && Math.abs(centsBetween(note.f0Hz, closest.f0Hz)) < FAR_CENTS;
  const measured = isClose ? closest : (nearest(usual, note.f0Hz)[0] ?? closest);
  const best = note.flags.includes(UNMEASURED) ? (plain ?? candidates[0]) : measured;
  return best === undefined ? still(say(context.state, missing)) : read(context, tabOf(best));
}

/** Goes through the ranked readings of the note. */
export function nextReading(context: CommandContext): Step {
  const { state } = context;
  const note = noteAt(state);
  const ring =
    state.ring?.noteId === note.id
      ? state.ring
      : { noteId: note.id, readings: readingsOf(note, state.playable), at: 0 };
  if (ring.readings.length < 2) return still(say(state, 'no other reading is near this pitch: type a hole'));
  const at = (ring.at + 1) % ring.readings.length;
  return read(context, ring.readings[at], { ...ring, at });
}

/** One semitone deeper, from the deepest back to none. */
export function bend(context: CommandContext): Step {
  const note = noteAt(context.state);
  const deeper = { hole: note.hole, breath: note.breath, bend: note.bend + 1, over: false };
  const { playable } = context.state;
  if (findPlayable(playable, deeper) !== undefined) return read(context, deeper);
  const breaths = [note.breath, note.breath === 'draw' ? 'blow' : 'draw'] as const;
  const none = { hole: note.hole, breath: note.breath, bend: 0, over: false };
  if (note.bend > 0) return read(context, none);
  const first = breaths
    .map((breath) => ({ hole: note.hole, breath, bend: 1, over: false }))
    .find((each) => findPlayable(playable, each));
  return first === undefined
    ? still(say(context.state, `hole ${note.hole} has no bend on this harp`))
    : read(context, first);
}

/** From overblow or overdraw to the plain note and back. */
export function over(context: CommandContext): Step {
  const note = noteAt(context.state);
  return readNearest(
    context,
    (each) =>
      each.hole === note.hole && each.over === !note.over && (each.over || each.breath === note.breath),
    `hole ${note.hole} has none`,
  );
}
