import { pairNotes } from '../../music/phrase-repetition.ts';
import { isSettled } from '../../tab/flags.ts';
import { type Offer, offerAfter } from '../state/doubt.ts';
import { phraseAt } from '../state/phrases.ts';
import { type Step, say, type UiState } from '../state/state.ts';
import { act, type CommandContext, noteAt, still } from './act.ts';

/** A repeat further off in pitch than this was played differently. */
const SAME_CENTS = 60;

/** Shows which notes sound like the corrected one; when asked again, makes them the same. */
export function takeOffer(context: CommandContext): Step {
  const { state } = context;
  const offer = state.offer ?? offerNow(state);
  if (offer === null) {
    const settled = isSettled(noteAt(state));
    return still(
      say(
        state,
        settled ? 'no other note sounds like this one but is written differently' : 'correct this note first',
      ),
    );
  }
  if (!offer.isShown) return still({ ...state, message: null, offer: { ...offer, isShown: true } });
  const { readings } = offer;
  const step = act(context, { kind: 'offer', readings }, 'nothing to change', { by: 'offer' });
  if (step.effects.length === 0) return step;
  const changed = `${readings.length} ${readings.length === 1 ? 'note' : 'notes'} changed; u undoes that`;
  return { ...step, state: say(step.state, changed) };
}

/** What the correction of the current note, however old, suggests for other notes. */
function offerNow(state: UiState): Offer | null {
  const note = noteAt(state);
  const [before] = note.alternatives;
  return before === undefined || !isSettled(note)
    ? null
    : offerAfter(state.edited.take.notes, state.at, before);
}

/** Copies the corrections of this phrase to its repeats. */
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
      // A repeat that was really played differently has another pitch there and is left alone.
      const samePitch = Math.abs(100 * (from.midi - to.midi)) < SAME_CENTS;
      if (samePitch && isSettled(from) && !isSettled(to)) pairs.push([from.id, to.id]);
    }
  }
  if (phrases === 0) return still(say(state, 'this phrase is not repeated'));
  if (pairs.length === 0) return still(say(state, 'nothing to copy: correct notes here first'));
  const step = act(context, { kind: 'carry', pairs }, 'nothing to copy');
  if (step.effects.length === 0) return step;
  return {
    ...step,
    state: say(
      step.state,
      `copied to ${phrases} ${phrases === 1 ? 'repeat' : 'repeats'}: ${pairs.length} ${pairs.length === 1 ? 'note' : 'notes'}; u undoes that`,
    ),
  };
}
