import type { PlayableNote } from '../../harp/types.ts';
import { UNMEASURED } from '../../tab/flags.ts';
import type { Note } from '../../tab/note.ts';
import { bendOn, onHoles, sameWritten, type TabNote, tabOf } from '../../tab/tab-note.ts';
import { formatTabNote } from '../../tab/text.ts';
import { centsBetween, midiToHz } from '../../units.ts';
import { contradictionText, contradicts, severalAgainstSound, soundingMidi } from '../state/against-sound.ts';
import { nearest, offerAfter, readingsOf } from '../state/doubt.ts';
import { type Step, say, type UiState } from '../state/state.ts';
import { act, type CommandContext, noteAt, still } from './act.ts';

/** A measured pitch this far from what sounds belongs to something else. */
const MISMEASURED_SEMITONES = 1;
/** A reading closer to the pitch than this fits. */
const FAR_CENTS = 60;

/** Gives the current note another reading, and finds similar notes. */
export function read(context: CommandContext, as: TabNote, ring: UiState['ring'] = null): Step {
  const { state } = context;
  const note = noteAt(state);
  const before = tabOf(note);
  const f0Hz = heardOtherwise(state, note);
  const step = act(context, { kind: 'read', ids: [note.id], as, f0Hz }, `it is already ${formatTabNote(as)}`);
  if (step.effects.length === 0) return step;
  const read: UiState = { ...step.state, ring };
  const { notes } = read.edited.take;
  const offer = sameWritten(before, as) ? null : offerAfter(notes, state.at, before);
  const now = notes[state.at];
  if (!contradicts(read, now)) return { ...step, state: { ...read, offer } };
  const text = `${formatTabNote(as)} contradicts the sound: ${contradictionText(read, now)}`;
  return { ...step, state: { ...say(read, text), offer } };
}

/**
 * The pitch that sounds, if it differs from the measured one. It depends on the sound alone, not on the hole that is
 * written.
 */
function heardOtherwise({ hearing }: UiState, note: Note): number | undefined {
  if (hearing === null || note.leak !== null || note.flags.includes(UNMEASURED)) return undefined;
  const midi = soundingMidi(hearing.track, note);
  return midi === null || Math.abs(midi - note.midi) < MISMEASURED_SEMITONES ? undefined : midiToHz(midi);
}

/** The pitch of a note in Hz: what sounds, or else what was measured. */
function pitchOf(state: UiState, note: Note): number {
  const { hearing } = state;
  const midi =
    severalAgainstSound(state, note)?.otherMidi ??
    (hearing === null ? null : soundingMidi(hearing.track, note));
  return midi === null ? note.f0Hz : midiToHz(midi);
}

/** The reading nearest to the measured pitch among those that fit. */
export function readNearest(
  context: CommandContext,
  fits: (note: PlayableNote) => boolean,
  missing: string,
): Step {
  const note = noteAt(context.state);
  const f0Hz = pitchOf(context.state, note);
  const candidates = context.state.playable.filter(fits);
  // A note that was never measured has no pitch, so the plain reading comes first.
  const plain = candidates.find((each) => each.bend === 0 && !each.over && each.breath === note.breath);
  const [closest] = nearest(candidates, f0Hz);
  const usual = candidates.filter((each) => !each.over);
  // An overbend is only meant if it fits and nothing else does.
  const isClose = closest !== undefined && Math.abs(centsBetween(f0Hz, closest.f0Hz)) < FAR_CENTS;
  const measured = isClose ? closest : (nearest(usual, f0Hz)[0] ?? closest);
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
      : { noteId: note.id, readings: readingsOf(note, pitchOf(state, note), state.playable), at: 0 };
  if (ring.readings.length < 2) return still(say(state, 'no other reading is near this pitch: type a hole'));
  const at = (ring.at + 1) % ring.readings.length;
  return read(context, ring.readings[at], { ...ring, at });
}

/** One semitone deeper, from the deepest back to none; of several holes one after the other. */
export function bend(context: CommandContext): Step {
  const note = noteAt(context.state);
  if (note.holes !== undefined) return bendOneOf(context, note.holes, 1);
  const deeper = bendings(context).find((each) => each.bend === note.bend + 1);
  return deeper === undefined && note.bend > 0 ? bendBy(context, 0) : bendBy(context, note.bend + 1);
}

/** One semitone less. */
export function bendLess(context: CommandContext): Step {
  const note = noteAt(context.state);
  if (note.holes !== undefined) return bendOneOf(context, note.holes, -1);
  return note.bend === 0 ? still(say(context.state, 'it is not bent')) : bendBy(context, note.bend - 1);
}

/** The next or the previous of all ways to bend one of several holes; the first is to bend none. */
function bendOneOf(context: CommandContext, holes: readonly number[], by: 1 | -1): Step {
  const { state } = context;
  const note = noteAt(state);
  if (note.shake === true) return still(say(state, "a shake can't be bent"));
  const bends = holes.flatMap((hole) =>
    state.playable.filter((each) => each.hole === hole && each.breath === note.breath && each.bend > 0),
  );
  if (bends.length === 0) return still(say(state, `none of these holes has a ${note.breath} bend`));
  const now = 1 + bends.findIndex(({ hole, bend }) => bendOn(note, hole) === bend);
  const ways = bends.length + 1;
  const bent = [undefined, ...bends][(now + by + ways) % ways];
  return read(
    context,
    onHoles(note, holes, (hole) => (hole === bent?.hole ? bent.bend : 0)),
  );
}

/** Asks for a digit of semitones. */
export function askBend({ state }: CommandContext): Step {
  const deepest = bendings({ state }).reduce((most, each) => Math.max(most, each.bend), 0);
  if (deepest === 0) return still(noBend(state));
  const asked = say(state, `bent by how many semitones? 0 to ${deepest}`);
  return still({ ...asked, mode: { kind: 'bend' } });
}

/** Bent by this many semitones, on this hole and in the breath that can bend. */
export function bendBy(context: CommandContext, semitones: number): Step {
  const { state } = context;
  const note = noteAt(state);
  if (note.holes !== undefined) return bendMelody(context, note.holes, semitones);
  const as = bendings(context)
    .filter((each) => each.bend === semitones)
    // An unbent note exists in both breaths.
    .sort((a, b) => Number(b.breath === note.breath) - Number(a.breath === note.breath))[0];
  if (as !== undefined) return read(context, tabOf(as));
  const deepest = bendings(context).reduce((most, each) => Math.max(most, each.bend), 0);
  return still(deepest === 0 ? noBend(state) : say(state, `hole ${note.hole} bends by ${deepest} at most`));
}

/** The same for the melody's hole of several. */
function bendMelody(context: CommandContext, holes: readonly number[], semitones: number): Step {
  const { state } = context;
  const note = noteAt(state);
  if (note.shake === true) return still(say(state, "a shake can't be bent"));
  const isOnHarp = bendings(context).some(({ breath, bend }) => breath === note.breath && bend === semitones);
  if (!isOnHarp) return still(say(state, `hole ${note.hole} has no ${note.breath} bend of ${semitones}`));
  return read(
    context,
    onHoles(note, holes, (hole) => (hole === note.hole ? semitones : 0)),
  );
}

const bendings = ({ state }: Pick<CommandContext, 'state'>): PlayableNote[] =>
  state.playable.filter(({ hole, over }) => hole === noteAt(state).hole && !over);

const noBend = (state: UiState): UiState => say(state, `hole ${noteAt(state).hole} has no bend on this harp`);

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
