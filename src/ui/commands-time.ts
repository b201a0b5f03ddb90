import { tabOf } from '../tab/redecode.ts';
import { formatTabNote } from '../tab/text.ts';
import { midiToHz } from '../units.ts';
import { act, type CommandContext, moveTo, noteAt, still } from './act.ts';
import { nearest } from './doubt.ts';
import { type Step, say } from './state.ts';

/** A nudge of an onset or offset. */
const NUDGE_SEC = 0.01;
/** A gap shorter than this holds no note. */
const SHORTEST_GAP_SEC = 0.06;
/** An inserted note keeps this far from its neighbours, and is no longer than that. */
const INSERT_MARGIN_SEC = 0.01;
const LONGEST_INSERT_SEC = 0.6;
/** How far from the note before the pitch of an inserted note is looked for, in semitones. */
const INSERT_REACH = 7;
const SPLIT_REACH = 3;

/** Makes two notes of one, at the dip in its level, or in the middle. */
export function split(context: CommandContext): Step {
  const { state } = context;
  const note = noteAt(state);
  const atSec = state.ears?.dip(note) ?? (note.onsetSec + note.offsetSec) / 2;
  const part = (fromSec: number, toSec: number) => {
    const midi = state.ears?.pitch(fromSec, toSec, note.midi, SPLIT_REACH);
    return midi === undefined || midi === null ? note.f0Hz : midiToHz(midi);
  };
  const f0Hz = [part(note.onsetSec, atSec), part(atSec, note.offsetSec)] as const;
  const step = act(context, { kind: 'split', id: note.id, atSec, f0Hz }, 'too short to split');
  return step.effects.length === 0 ? step : { ...step, state: moveTo(step.state, state.at + 1) };
}

/** Puts a note into the gap after this one. */
export function insert(context: CommandContext): Step {
  const { state } = context;
  const { notes, source } = state.edited.take;
  const note = noteAt(state);
  const until = notes[state.at + 1]?.onsetSec ?? source.durationSec;
  if (until - note.offsetSec < SHORTEST_GAP_SEC)
    return still(say(state, 'no gap after this note: split it instead'));
  const heardAt = state.ears?.loudest(note.offsetSec + INSERT_MARGIN_SEC, until - INSERT_MARGIN_SEC) ?? null;
  const onsetSec = heardAt?.[0] ?? note.offsetSec + INSERT_MARGIN_SEC;
  const offsetSec = heardAt?.[1] ?? Math.min(until - INSERT_MARGIN_SEC, onsetSec + LONGEST_INSERT_SEC);
  const midi = state.ears?.pitch(onsetSec, offsetSec, note.midi, INSERT_REACH) ?? null;
  const f0Hz = midi === null ? undefined : midiToHz(midi);
  const as = tabOf(f0Hz === undefined ? note : nearest(state.playable, f0Hz)[0]);
  const step = act(context, { kind: 'insert', onsetSec, offsetSec, as, f0Hz }, 'no room for a note');
  if (step.effects.length === 0) return step;
  const heard =
    f0Hz === undefined ? 'not measured: type its hole' : 'as heard there; type another hole if it is not';
  return { ...step, state: say(moveTo(step.state, state.at + 1), `${formatTabNote(as)}, ${heard}`) };
}

/** Deletes the note. */
export function remove(context: CommandContext): Step {
  const step = act(context, { kind: 'delete', ids: [noteAt(context.state).id] }, '');
  return {
    ...step,
    state: say(step.state, `${formatTabNote(noteAt(context.state))} deleted; u brings it back`),
  };
}

/** Moves where the note begins or ends. */
export function nudge(context: CommandContext, edge: 'onset' | 'offset', by: -1 | 1): Step {
  const note = noteAt(context.state);
  const toSec = (edge === 'onset' ? note.onsetSec : note.offsetSec) + by * NUDGE_SEC;
  return act(context, { kind: 'move', id: note.id, edge, toSec }, 'no further: the next note is there');
}
