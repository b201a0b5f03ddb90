import { setTimeout } from 'node:timers/promises';
import type { Take } from '../../take/schema.ts';
import { reduce } from '../commands/reduce.ts';
import { openState, type UiState } from '../state/state.ts';

/** The slowest keys, each often enough for the compiler to notice. */
const KEYS = ['5', ' ', 's', '5', ' ', 'x', '5', ' '];
const HARP_KEYS = ['h', 'right', 'enter', 'u', 'h', 'left', 'enter', 'u'];
/** How many notes are read on another harp in the time of a key. */
const HARP_NOTES = 150;
/** Pause in which the player's own keys are handled. */
const PAUSE_MS = 15;

/** Changes notes key by key and discards the result, so that the code is compiled before the player's first change. */
export async function warmUp(now: () => UiState): Promise<void> {
  for (const key of KEYS) {
    press({ ...now(), mode: { kind: 'notes' } }, key);
    await setTimeout(PAUSE_MS, undefined, { ref: false });
  }
  const { name, edited, custom } = now();
  let few = openState(name, firstNotes(edited.take), custom, false);
  for (const key of HARP_KEYS) {
    few = press(few, key);
    await setTimeout(PAUSE_MS, undefined, { ref: false });
  }
}

function press(state: UiState, key: string): UiState {
  return reduce(state, { kind: 'key', key, at: '' }).state;
}

function firstNotes(take: Take): Take {
  return {
    ...take,
    notes: take.notes.slice(0, HARP_NOTES),
    phrases: take.phrases.filter(({ lastNote }) => lastNote < HARP_NOTES),
    words: [],
    edits: [],
  };
}
