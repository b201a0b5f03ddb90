import { phraseAt } from '../state/phrases.ts';
import { type Effect, type Step, say, type UiState } from '../state/state.ts';
import { still } from './act.ts';

/** Shown before the first sound of a session. */
const HEADPHONE_CAUTION = 'on headphones? Begin with the level low; it can be loud. The key again plays.';
/** How much of the recording is played on from a note at most; so much is written out before it begins. */
const LONGEST_PLAY_SEC = 300;
/** Sound before and after an excerpt. */
const MARGIN_SEC = 0.05;

/** Why a key that plays something does nothing now. */
export function silentBecause({ edited, hasPlayer, recording }: UiState): string {
  if (edited.take.notes.length === 0) return 'there are no notes to play';
  if (!hasPlayer) return 'no player for sound was found when the screen was opened';
  return recording === 'looking'
    ? 'the recording is still being read'
    : 'without the recording only the tab can be played: t';
}

/** Plays what a key asks for; the first time in a session only a caution is shown. */
export function hear(state: UiState, command: string): Step {
  const { take } = state.edited;
  const note = take.notes[state.at];
  const range = state.ranges[phraseAt(state.ranges, state.at)];
  if (note === undefined || range === undefined) return still(state);
  if (!state.cautioned) return still(say({ ...state, cautioned: true }, HEADPHONE_CAUTION));
  const phrase = { fromSec: take.notes[range.first].onsetSec, toSec: take.notes[range.last].offsetSec };
  const play = (
    name: string,
    what: 'recording' | 'tab' | 'both',
    { fromSec, toSec }: { fromSec: number; toSec: number },
    stretch = 1,
    loop = false,
  ): Step => {
    const from = Math.max(0, fromSec - MARGIN_SEC);
    const to = Math.min(take.source.durationSec, toSec + MARGIN_SEC, from + LONGEST_PLAY_SEC);
    const effect: Effect = { kind: 'play', what, fromSec: from, toSec: to, stretch, loop };
    return { state: { ...state, playing: name, message: null }, effects: [effect] };
  };
  switch (command) {
    case 'hear-note':
      return play('this note', 'recording', { fromSec: note.onsetSec, toSec: note.offsetSec });
    case 'hear-phrase':
      return play('this phrase', 'recording', phrase);
    case 'hear-take':
      return play('from here on', 'recording', { fromSec: note.onsetSec, toSec: take.source.durationSec });
    case 'loop':
      return play('this phrase at half speed, again and again', 'recording', phrase, 2, true);
    case 'tab-sound':
      return play('the tab of this phrase', 'tab', phrase);
    case 'both':
      return play('the tab against the recording', 'both', phrase);
    default:
      return still(state);
  }
}
