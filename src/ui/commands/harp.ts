import { harpKeyAt, parseHarpKey } from '../../harp/keys.ts';
import { LAYOUTS } from '../../harp/layouts.ts';
import { TEMPERAMENTS } from '../../harp/temperaments.ts';
import type { HarpSpec } from '../../harp/types.ts';
import { sameTab } from '../../tab/tab-note.ts';
import { counted } from '../../text/counted.ts';
import { sameHarp } from '../state/ahead.ts';
import { HARP_FIELDS, type Mode, type Step, say, type UiState } from '../state/state.ts';
import { act, type CommandContext, still } from './act.ts';

/** Lowest and highest A4 in the field, in Hz. */
const A4_RANGE_HZ = [400, 480] as const;

type HarpMode = Mode & { kind: 'harp' };

/** Opens the choice of the harp. */
export function openHarp(state: UiState): Step {
  const { key, tuning, temperament, a4Hz } = state.edited.take.harp;
  const draft = { key, tuning, temperament, a4Hz };
  return readAhead({ ...state, message: null, offer: null }, { kind: 'harp', field: 0, draft });
}

/** Shows a harp; the take is read on it in the meantime. */
function readAhead(state: UiState, mode: HarpMode): Step {
  const { take } = state.edited;
  return { state: { ...state, mode }, effects: [{ kind: 'read-ahead', take, harp: mode.draft }] };
}

/** The previous or next value of a list that wraps round; the first if the value is not in it. */
function turn(list: readonly string[], now: string, by: number): string {
  return list[(list.indexOf(now) + by + list.length) % list.length] ?? now;
}

interface Identified {
  readonly id: string;
}

/** The built-in ids, after the custom one of the take. */
function idsOf(usual: readonly Identified[], own: Identified | undefined): string[] {
  return [...(own === undefined ? [] : [own.id]), ...usual.map(({ id }) => id)];
}

function change(state: UiState, { field, draft }: HarpMode, by: number): HarpSpec {
  const own = state.edited.take.harp.custom;
  switch (HARP_FIELDS[field]) {
    case 'key':
      return { ...draft, key: harpKeyAt(parseHarpKey(draft.key).tonicMidi + by)?.key ?? draft.key };
    case 'tuning': {
      return state.custom.layout === undefined
        ? { ...draft, tuning: turn(idsOf(LAYOUTS, own?.layout), draft.tuning, by) }
        : draft;
    }
    case 'temperament':
      return state.custom.temperament === undefined
        ? { ...draft, temperament: turn(idsOf(TEMPERAMENTS, own?.temperament), draft.temperament, by) }
        : draft;
    default:
      return {
        ...draft,
        a4Hz: Math.max(A4_RANGE_HZ[0], Math.min(A4_RANGE_HZ[1], Math.round(draft.a4Hz) + by)),
      };
  }
}

/** What a key does while a harp is chosen. */
export function harpKeyPressed(context: CommandContext, command: string | undefined): Step {
  const { state, key } = context;
  const mode = state.mode as HarpMode;
  const closed: UiState = { ...state, mode: { kind: 'notes' } };
  switch (command) {
    case 'field': {
      const by = key === 'up' ? -1 : 1;
      return still({
        ...state,
        mode: { ...mode, field: (mode.field + by + HARP_FIELDS.length) % HARP_FIELDS.length },
      });
    }
    case 'value':
      return readAhead(state, { ...mode, draft: change(state, mode, key === 'left' ? -1 : 1) });
    case 'harp-leave':
      return still(closed);
    case 'harp-done':
      return {
        state: say({ ...closed, newHarp: mode.draft }, `reading all notes on the ${mode.draft.key} harp…`),
        effects: [{ kind: 'read-notes' }],
      };
    default:
      return still(state);
  }
}

/** Reads all notes on the harp that was chosen; a screen without one stays as it is. */
export function readOnNewHarp(context: CommandContext): Step {
  const { newHarp: harp, ahead, ...rest } = context.state;
  if (harp === null) return still(context.state);
  const state: UiState = { ...rest, newHarp: null, ahead: null };
  const isRead = ahead?.of === state.edited.take && sameHarp(ahead.harp, harp);
  const read = isRead ? (ahead.patch ?? undefined) : undefined;
  const step = act({ ...context, state }, { kind: 'harp', harp, read }, 'the harp is unchanged');
  if (step.effects.length === 0) return step;
  const before = state.edited.take.notes;
  const changed = step.state.edited.take.notes.filter((note, i) => !sameTab(note, before[i])).length;
  return {
    ...step,
    state: say(
      step.state,
      `read again on the ${harp.key} harp: ${changed} of ${counted(before.length, 'note')} changed; u undoes that`,
    ),
  };
}
