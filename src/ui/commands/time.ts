import type { Note } from '../../tab/note.ts';
import { type TabNote, tabOf } from '../../tab/tab-note.ts';
import { formatTabNote } from '../../tab/text.ts';
import { midiToHz } from '../../units.ts';
import { nearest } from '../state/doubt.ts';
import { type Step, say, type UiState } from '../state/state.ts';
import { act, type CommandContext, moveTo, noteAt, still } from './act.ts';

/** A nudge of an onset or offset. */
const NUDGE_SEC = 0.01;
/** A gap shorter than this holds no note. */
const SHORTEST_GAP_SEC = 0.06;
/** Distance of an inserted note from its neighbours, and its greatest length. */
const INSERT_MARGIN_SEC = 0.01;
const LONGEST_INSERT_SEC = 0.6;
/** How far from the note before, in semitones, the pitch of an inserted note is searched. */
const INSERT_REACH = 7;
const SPLIT_REACH = 3;
/** Where most tunes begin. */
const USUAL_HOLE = 4;

/** Makes two notes of one: where it was heard to be played again, at the dip in its level, or in the middle. */
export function split(context: CommandContext): Step {
  const { state } = context;
  const note = noteAt(state);
  const dipSec = heardAgainSec(note) ?? state.ears?.dip(note) ?? null;
  const atSec = dipSec ?? (note.onsetSec + note.offsetSec) / 2;
  const part = (fromSec: number, toSec: number) => {
    const midi = state.ears?.pitch(fromSec, toSec, note.midi, SPLIT_REACH);
    return midi === undefined || midi === null ? note.f0Hz : midiToHz(midi);
  };
  const f0Hz = [part(note.onsetSec, atSec), part(atSec, note.offsetSec)] as const;
  const step = act(context, { kind: 'split', id: note.id, atSec, f0Hz }, 'too short to split');
  if (step.effects.length === 0) return step;
  const split = moveTo(step.state, state.at + 1);
  return { ...step, state: dipSec === null ? say(split, `split in the middle: ${noDip(state)}`) : split };
}

/** Where the ear heard a note played again, as long as that lies within the note. */
function heardAgainSec({ againSec, onsetSec, offsetSec }: Note): number | null {
  return againSec !== undefined && againSec > onsetSec && againSec < offsetSec ? againSec : null;
}

function noDip({ ears, recording }: UiState): string {
  if (ears !== null) return 'no dip is heard in it';
  return recording === 'looking'
    ? 'the recording is still being read'
    : 'without the recording no dip is known';
}

/** Inserts a note in the gap after or before the current one; in a take without notes, where it is loudest. */
export function insert(context: CommandContext): Step {
  const { state } = context;
  const { notes, source } = state.edited.take;
  // Position of the new note.
  const at = Math.min(notes.length, context.key === 'I' ? state.at : state.at + 1);
  const [fromSec, toSec] = [notes[at - 1]?.offsetSec ?? 0, notes[at]?.onsetSec ?? source.durationSec];
  if (toSec - fromSec < SHORTEST_GAP_SEC)
    return still(
      say(state, `no gap ${context.key === 'I' ? 'before' : 'after'} this note: split it instead`),
    );
  const heardAt = state.ears?.loudest(fromSec + INSERT_MARGIN_SEC, toSec - INSERT_MARGIN_SEC) ?? null;
  const longest = Math.min(LONGEST_INSERT_SEC, toSec - fromSec - 2 * INSERT_MARGIN_SEC);
  // Without a recording, next to the current note.
  const besideSec =
    at <= state.at && notes.length > 0 ? toSec - INSERT_MARGIN_SEC - longest : fromSec + INSERT_MARGIN_SEC;
  const [onsetSec, offsetSec] = heardAt ?? [besideSec, besideSec + longest];
  const f0Hz = pitchWithin(state, onsetSec, offsetSec);
  const as = f0Hz === undefined ? usualReading(state) : nearest(state.playable, f0Hz)[0];
  const step = act(
    context,
    { kind: 'insert', onsetSec, offsetSec, as: tabOf(as), f0Hz },
    'no room for a note',
  );
  if (step.effects.length === 0) return step;
  const heard =
    f0Hz === undefined
      ? 'not measured: type its hole'
      : 'as heard there; if that is wrong, type another hole';
  return { ...step, state: say(moveTo(step.state, at), `${formatTabNote(as)}, ${heard}`) };
}

/** The pitch of a stretch without a note in Hz, searched around the current note or over the whole harp. */
function pitchWithin(
  { ears, edited, at, playable }: UiState,
  fromSec: number,
  toSec: number,
): number | undefined {
  const note = edited.take.notes[at];
  const all = playable.map(({ midi }) => midi);
  const [low, high] = [Math.min(...all), Math.max(...all)];
  const midi =
    note === undefined
      ? ears?.pitch(fromSec, toSec, (low + high) / 2, Math.ceil((high - low) / 2))
      : ears?.pitch(fromSec, toSec, note.midi, INSERT_REACH);
  return midi === undefined || midi === null ? undefined : midiToHz(midi);
}

/** The reading of a note that was not measured: the same as the current one. */
function usualReading({ edited, at, playable }: UiState): TabNote {
  return (
    edited.take.notes[at] ??
    playable.find(({ hole, bend, over }) => hole === USUAL_HOLE && bend === 0 && !over) ??
    playable[0]
  );
}

/** Deletes the note. */
export function remove(context: CommandContext): Step {
  const step = act(context, { kind: 'delete', ids: [noteAt(context.state).id] }, '');
  if (step.effects.length === 0) return step;
  return {
    ...step,
    state: say(step.state, `${formatTabNote(noteAt(context.state))} deleted; u brings it back`),
  };
}

/** Moves the onset or offset of a note; repeated nudges are one step. */
export function nudge(context: CommandContext, edge: 'onset' | 'offset', by: -1 | 1): Step {
  const { state } = context;
  const note = noteAt(state);
  const toSec = (edge === 'onset' ? note.onsetSec : note.offsetSec) + by * NUDGE_SEC;
  const what = `${edge} ${note.id}`;
  const joins = state.nudging?.what === what && state.nudging.seq === state.edited.take.edits.length;
  const action = { kind: 'move', id: note.id, edge, toSec } as const;
  const step = act(context, action, 'no further: the next note is in the way', { joins });
  return { ...step, state: { ...step.state, nudging: { what, seq: step.state.edited.take.edits.length } } };
}
