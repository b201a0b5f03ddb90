import { findPlayable } from '../harp/playable.ts';
import type { PlayableNote } from '../harp/types.ts';
import { pairNotes } from '../music/repeats.ts';
import type { Note } from '../tab/note.ts';
import { isSettled, sameTab, tabOf, UNMEASURED } from '../tab/redecode.ts';
import type { TabNote } from '../tab/tab-note.ts';
import { formatTabNote } from '../tab/text.ts';
import type { EditAction } from '../take/change.ts';
import { type Edit, type EditedTake, edit, editsOf, redo, undo } from '../take/edits.ts';
import { centsBetween, hzToMidi, midiToHz } from '../units.ts';
import { alike, isDoubtful, nearest, nextDoubt, offerAfter, readingsOf } from './doubt.ts';
import { phraseAt } from './phrases.ts';
import { type Effect, type Step, say, type UiState, withTake } from './state.ts';

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
/** A reading further off than this can't be the pitch that was measured. */
const ANOTHER_PITCH_CENTS = 150;
/** A reading further from the measured pitch than this is worth a word. */
const FAR_CENTS = 60;

/** What a command works with: the screen, and when the key was pressed (ISO 8601). */
export interface CommandContext {
  readonly state: UiState;
  readonly key: string;
  readonly at: string;
}

const noteAt = (state: UiState): Note => state.edited.take.notes[state.at];
const still = (state: UiState): Step => ({ state, effects: [] });

/** Does an action to the take; a message is all that happens when it changes nothing. */
export function act(
  context: CommandContext,
  action: EditAction,
  nothing: string,
  by: Edit['by'] = 'player',
): Step {
  const { state, at } = context;
  const done = edit(state.edited, action, { at, by }, state.custom);
  if (done === null) return still(say(state, nothing));
  return stepped(state, done, state.at);
}

function stepped(state: UiState, done: { state: EditedTake; edit: Edit }, at: number): Step {
  const effects: Effect[] = [{ kind: 'journal', edit: done.edit }];
  return { state: { ...withTake(state, done.state, at), message: null, offer: null, ring: null }, effects };
}

export function moveTo(state: UiState, at: number): UiState {
  const last = state.edited.take.notes.length - 1;
  const to = Math.max(0, Math.min(last, at));
  return to === state.at ? state : { ...state, at: to, message: null };
}

function goPhrase(state: UiState, by: number): UiState {
  const now = phraseAt(state.ranges, state.at);
  const to = Math.max(0, Math.min(state.ranges.length - 1, now + by));
  // Up goes to the beginning of this phrase first, as readers expect of a line.
  if (by < 0 && state.at !== state.ranges[now]?.first) return moveTo(state, state.ranges[now].first);
  return state.ranges[to] === undefined || to === now ? state : moveTo(state, state.ranges[to].first);
}

function goDoubt(state: UiState, backwards: boolean): UiState {
  const to = nextDoubt(state.edited.take.notes, state.at, backwards);
  if (to === null) return say(state, 'no doubts are left');
  return to === state.at
    ? say(state, 'this is the only doubt left')
    : { ...moveTo(state, to), message: null };
}

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

function readNearest(context: CommandContext, fits: (note: PlayableNote) => boolean, missing: string): Step {
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

function nextReading(context: CommandContext): Step {
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

function bend(context: CommandContext): Step {
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

function over(context: CommandContext): Step {
  const note = noteAt(context.state);
  return readNearest(
    context,
    (each) =>
      each.hole === note.hole && each.over === !note.over && (each.over || each.breath === note.breath),
    `hole ${note.hole} has none`,
  );
}

function accept(context: CommandContext): Step {
  const note = noteAt(context.state);
  const step = isSettled(note) ? still(context.state) : act(context, { kind: 'accept', ids: [note.id] }, '');
  const to = nextDoubt(step.state.edited.take.notes, step.state.at);
  if (to === null)
    return {
      ...step,
      state: say(step.state, isDoubtful(note) ? 'that was the last doubt' : 'no doubts are left'),
    };
  return { ...step, state: moveTo(step.state, to) };
}

/** Takes the offer; without one corrects all notes like the current one. */
function takeOffer(context: CommandContext): Step {
  const { state } = context;
  const note = noteAt(state);
  let readings = state.offer?.readings;
  if (readings === undefined) {
    const before = note.alternatives[0];
    const others =
      before === undefined || !isSettled(note) ? [] : alike(state.edited.take.notes, note, before);
    readings = others.map((i) => [state.edited.take.notes[i].id, tabOf(note)] as const);
  }
  if (readings.length === 0)
    return still(
      say(state, isSettled(note) ? 'no other note is like this one was' : 'correct this note first'),
    );
  const step = act(
    context,
    { kind: 'offer', readings },
    'nothing to change',
    state.offer === null ? 'player' : 'offer',
  );
  return {
    ...step,
    state: say(
      step.state,
      `${readings.length} ${readings.length === 1 ? 'note' : 'notes'} changed; u takes that back`,
    ),
  };
}

function carry(context: CommandContext): Step {
  const { state } = context;
  const { notes } = state.edited.take;
  const here = state.ranges[phraseAt(state.ranges, state.at)];
  const plain = here.label.replace(/'$/, '');
  const model = { firstNote: here.first, lastNote: here.last };
  const pairs: [string, string][] = [];
  let phrases = 0;
  for (const other of state.ranges) {
    if (other === here || plain === '' || other.label.replace(/'$/, '') !== plain) continue;
    phrases++;
    for (const pair of pairNotes(notes, model, { firstNote: other.first, lastNote: other.last })) {
      if (pair.note === null || pair.other === null) continue;
      const from = notes[pair.other];
      const to = notes[pair.note];
      // A repeat that was really played otherwise has another pitch there: that is left alone.
      const samePitch = Math.abs(100 * (from.midi - to.midi)) < FAR_CENTS;
      if (samePitch && isSettled(from) && !isSettled(to)) pairs.push([from.id, to.id]);
    }
  }
  if (phrases === 0) return still(say(state, 'this phrase is not repeated'));
  if (pairs.length === 0) return still(say(state, 'nothing to carry over: correct notes here first'));
  const step = act(context, { kind: 'carry', pairs }, 'nothing to carry over');
  return {
    ...step,
    state: say(
      step.state,
      `carried over to ${phrases} ${phrases === 1 ? 'repeat' : 'repeats'}: ${pairs.length} ${pairs.length === 1 ? 'note' : 'notes'}; u takes that back`,
    ),
  };
}

function split(context: CommandContext): Step {
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

function insert(context: CommandContext): Step {
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

function remove(context: CommandContext): Step {
  const step = act(context, { kind: 'delete', ids: [noteAt(context.state).id] }, '');
  return {
    ...step,
    state: say(step.state, `${formatTabNote(noteAt(context.state))} deleted; u brings it back`),
  };
}

function step(context: CommandContext, which: 'undo' | 'redo'): Step {
  const { state, at } = context;
  const done = which === 'undo' ? undo(state.edited, { at }) : redo(state.edited, { at });
  if (done === null)
    return still(say(state, which === 'undo' ? 'nothing to take back' : 'nothing to do again'));
  return stepped(state, done, touched(done.state, done.edit) ?? state.at);
}

/** Where an undone or redone edit is seen. */
function touched(edited: EditedTake, { what, ...rest }: Edit): number | null {
  const of = (rest as { of?: number }).of;
  const line = of === undefined ? null : editsOf(edited.take)[of - 1];
  const first = line !== null && 'patch' in line ? line.patch.notes?.[0] : undefined;
  if (first === undefined || what === undefined) return null;
  const now = edited.take.notes.findIndex(({ id }) => id === first.id);
  return now >= 0 ? now : (first.at ?? null);
}

function nudge(context: CommandContext, edge: 'onset' | 'offset', bySec: number): Step {
  const note = noteAt(context.state);
  const toSec = (edge === 'onset' ? note.onsetSec : note.offsetSec) + bySec;
  return act(context, { kind: 'move', id: note.id, edge, toSec }, 'no further: the next note is there');
}

/** Commands on the current note, by the id of their row in the table of keys. */
export const NOTE_COMMANDS: Readonly<Record<string, (context: CommandContext) => Step>> = {
  note: ({ state, key }) => still(moveTo(state, state.at + (key === 'left' ? -1 : 1))),
  phrase: ({ state, key }) => still(goPhrase(state, key === 'up' || key === 'pageup' ? -1 : 1)),
  doubt: ({ state, key }) => still(goDoubt(state, key === 'shift-tab')),
  ends: ({ state, key }) => still(moveTo(state, key === 'home' ? 0 : Number.MAX_SAFE_INTEGER)),
  accept,
  other: nextReading,
  hole: (context) => {
    const hole = context.key === '0' ? 10 : Number(context.key);
    return readNearest(context, (note) => note.hole === hole, `no hole ${hole}`);
  },
  breath: (context) => {
    const note = noteAt(context.state);
    const breath = context.key === 'b' || context.key === '+' ? 'blow' : 'draw';
    return readNearest(
      context,
      (each) => each.hole === note.hole && each.breath === breath && !each.over,
      '',
    );
  },
  bend,
  over,
  alike: takeOffer,
  carry,
  onset: (context) => nudge(context, 'onset', context.key === ',' ? -NUDGE_SEC : NUDGE_SEC),
  offset: (context) =>
    nudge(context, 'offset', context.key === ';' || context.key === '<' ? -NUDGE_SEC : NUDGE_SEC),
  split,
  merge: (context) => act(context, { kind: 'merge', id: noteAt(context.state).id }, 'there is no next note'),
  insert,
  delete: remove,
  undo: (context) => step(context, 'undo'),
  redo: (context) => step(context, 'redo'),
};
