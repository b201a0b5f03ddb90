import type { Note } from '../../tab/note.ts';
import { phraseAt } from '../state/phrases.ts';
import { bareFocus } from '../state/place.ts';
import { type Effect, type Playing, type Step, say, type UiState } from '../state/state.ts';
import { moveTo, still } from './act.ts';

/** Shown before the first sound of a session. */
const HEADPHONE_CAUTION =
  'on headphones? Begin with the level low; it can be loud. Press the key again to play.';
/** The most that is played from a note on: all of it is written to a file first. */
const LONGEST_PLAY_SEC = 300;
/** Sound before and after an excerpt. */
const MARGIN_SEC = 0.05;
/** A typed hole sounds for at most this long. */
const TYPED_SEC = 0.5;

/** Speeds that one key cycles through, and what can be played. */
const SPEEDS = [1, 0.75, 0.5] as const;
const SOUNDS = ['recording', 'tab', 'both'] as const;
const SPEED_NAMES: Readonly<Record<number, string>> = {
  1: '',
  0.75: ' at three quarters',
  0.5: ' at half speed',
};
const SOUND_NAMES = { recording: 'the recording', tab: 'the tab', both: 'recording and tab' } as const;

const nextOf = <Value>(values: readonly Value[], now: Value): Value =>
  values[(values.indexOf(now) + 1) % values.length];

/** Why a key that plays something does nothing now. */
export function silentBecause({ edited, hasPlayer, recording }: UiState): string {
  if (edited.take.notes.length === 0) return 'there are no notes to play';
  if (!hasPlayer) return 'no sound player was found when the screen was opened';
  return recording === 'looking'
    ? 'the recording is still being read'
    : 'there is no recording, only the tab';
}

/** What is played: without the recording, only the tab. */
const soundsNow = ({ sounds, recording }: UiState): Playing['what'] =>
  recording === 'ready' ? sounds : 'tab';

/** Plays what a key asks for, or sets how to play; the first time in a session only a caution is shown. */
export function hear(state: UiState, command: string): Step {
  switch (command) {
    case 'hear-what': {
      const sounds = nextOf(SOUNDS, state.sounds);
      return still(say({ ...state, sounds }, `plays ${SOUND_NAMES[sounds]} from now on`));
    }
    case 'speed': {
      const speed = nextOf(SPEEDS, state.speed);
      return still(
        say({ ...state, speed }, `plays${speed === 1 ? ' at full speed' : SPEED_NAMES[speed]} from now on`),
      );
    }
    case 'hear-typed': {
      const soundsTyped = !state.soundsTyped;
      const text = soundsTyped ? 'each hole sounds as it is typed' : 'holes are typed in silence';
      return still(say({ ...state, soundsTyped }, text));
    }
    default:
      return playFrom(state, command);
  }
}

function playFrom(state: UiState, command: string): Step {
  const { take } = state.edited;
  const note = take.notes[state.at];
  const range = state.ranges[phraseAt(state.ranges, state.at)];
  if (note === undefined || range === undefined) return still(state);
  if (state.sounds !== 'tab' && state.recording === 'looking') return still(say(state, silentBecause(state)));
  const stretch = bareFocus(state)?.sound ?? note;
  const phrase = { onsetSec: take.notes[range.first].onsetSec, offsetSec: take.notes[range.last].offsetSec };
  switch (command) {
    case 'hear-note':
      return play(state, 'this note', stretch);
    case 'hear-phrase':
      return play(state, 'this phrase', phrase);
    case 'hear-take':
      return play(state, 'from here on', { onsetSec: stretch.onsetSec, offsetSec: take.source.durationSec });
    case 'loop':
      return play(state, 'this phrase in a loop', phrase, true);
    default:
      return still(state);
  }
}

function play(
  state: UiState,
  name: string,
  { onsetSec, offsetSec }: Pick<Note, 'onsetSec' | 'offsetSec'>,
  loop = false,
): Step {
  if (!state.cautioned) return still(say({ ...state, cautioned: true }, HEADPHONE_CAUTION));
  const what = soundsNow(state);
  const { speed } = state;
  const fromSec = Math.max(0, onsetSec - MARGIN_SEC);
  const last = state.edited.take.source.durationSec;
  const toSec = Math.min(last, offsetSec + MARGIN_SEC, fromSec + LONGEST_PLAY_SEC);
  const effect: Effect = { kind: 'play', what, fromSec, toSec, stretch: 1 / speed, loop };
  const playing: Playing = {
    name: `${name}${SPEED_NAMES[speed]}, ${SOUND_NAMES[what]}`,
    what,
    fromSec,
    toSec,
    headSec: null,
    backTo: state.playing?.backTo ?? state.at,
  };
  return { state: { ...state, playing, message: null }, effects: [effect] };
}

/** Plays the current note as tab, if the player wants typed holes to sound. */
export function soundTyped(step: Step): Step {
  const { state } = step;
  const note = state.edited.take.notes[state.at];
  if (!state.soundsTyped || !state.hasPlayer || note === undefined || step.effects.length === 0) return step;
  const toSec = Math.min(note.offsetSec, note.onsetSec + TYPED_SEC);
  const effect: Effect = {
    kind: 'play',
    what: 'tab',
    fromSec: note.onsetSec,
    toSec,
    stretch: 1,
    loop: false,
  };
  return { ...step, effects: [...step.effects, effect] };
}

/** Moves the cursor along with the playhead. */
export function followHead(state: UiState, headSec: number): UiState {
  const { playing } = state;
  if (playing === null) return state;
  const { notes } = state.edited.take;
  const at = notes.findLastIndex(({ onsetSec }) => onsetSec <= headSec);
  const there =
    state.mode.kind === 'notes' && at >= 0 && headSec >= playing.fromSec ? { ...state, at } : state;
  return { ...there, playing: { ...playing, headSec } };
}

/** Stops playing, and stays there or goes back to where it began. */
export function stop(state: UiState, stays: boolean): Step {
  const back = state.playing?.backTo ?? state.at;
  const stopped: UiState = { ...state, playing: null, message: null };
  return { state: stays ? stopped : moveTo(stopped, back), effects: [{ kind: 'stop' }] };
}
