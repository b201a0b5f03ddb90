import { isSettled } from '../../holes/redecode.ts';
import { pairNotes } from '../../music/phrase-repetition.ts';
import { tabOf } from '../../tab/tab-note.ts';
import { alike } from '../state/doubt.ts';
import { phraseAt } from '../state/phrases.ts';
import { type Step, say } from '../state/state.ts';
import { act, type CommandContext, noteAt, still } from './act.ts';

/** A repeat further off in pitch than this was played otherwise. */
const SAME_CENTS = 60;

/** Takes the offer; without one corrects all notes like the current one. */
export function takeOffer(context: CommandContext): Step {
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

/** Carries the corrections of this phrase to its repeats. */
export function carry(context: CommandContext): Step {
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
      const samePitch = Math.abs(100 * (from.midi - to.midi)) < SAME_CENTS;
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
