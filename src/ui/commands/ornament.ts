import type { Note } from '../../tab/note.ts';
import { type NoteOrnament, type OrnamentKind, ornamentsOf, usualOrnament } from '../../tab/ornament.ts';
import { heardOrnaments } from '../state/ornaments.ts';
import { type Step, say, type UiState } from '../state/state.ts';
import { type CommandContext, still } from './act.ts';
import { onRange, rangeOf } from './range.ts';

/** A shake needs two holes, which `+` names. */
type SaidKind = Exclude<OrnamentKind, 'shake'>;

/** What the keys after the first one mean, from the beginning of a note to its end. */
const KINDS: Readonly<Record<string, SaidKind>> = {
  s: 'scoop',
  v: 'vibrato',
  t: 'tremolo',
  h: 'hand',
  f: 'fall',
};
const ORDER: readonly OrnamentKind[] = ['shake', ...Object.values(KINDS)];

/** Hands and tremolo are two names for a level that swings, so a note has only one of them. */
const INSTEAD_OF: Readonly<Partial<Record<SaidKind, SaidKind>>> = { tremolo: 'hand', hand: 'tremolo' };

/** Asks which ornament to add to the note or the range, or to remove. */
export function askOrnament({ state }: CommandContext): Step {
  const notes = rangeOf(state);
  const what = notes.length === 1 ? 'it' : `these ${notes.length} notes`;
  return still(
    say({ ...state, mode: { kind: 'ornament' } }, `which ornament for ${what}? ${nowText(notes)}`),
  );
}

function nowText(notes: readonly Note[]): string {
  const now = Object.values(KINDS).flatMap((kind) => {
    const count = notes.filter((note) => has(note, kind)).length;
    if (count === 0) return [];
    return count === notes.length ? [kind] : [`${kind} of ${count}`];
  });
  return now.length === 0 ? 'none so far' : `so far ${now.join(', ')}; the same again removes it`;
}

const has = (note: Note, kind: SaidKind): boolean =>
  ornamentsOf(note).some((ornament) => ornament.kind === kind);

/** The key after that: adds or removes an ornament, or removes all. */
export function ornamentKey(context: CommandContext, command: string | undefined): Step {
  if (command === 'ornament-none') return without(context);
  return command === 'ornament-kind' ? toggle(context, KINDS[context.key]) : still(context.state);
}

function without(context: CommandContext): Step {
  // A shake is part of the tab itself.
  const notes = rangeOf(context.state).map(
    (note) => [note.id, ornamentsOf(note).filter(({ kind }) => kind === 'shake')] as const,
  );
  const step = onRange(context, { kind: 'ornaments', notes }, 'it has no ornament');
  return step.effects.length === 0 ? step : { ...step, state: say(step.state, 'played plainly') };
}

/** Adds the ornament where it is missing, or removes it if all notes have it. */
function toggle(context: CommandContext, kind: SaidKind): Step {
  const { state } = context;
  const range = rangeOf(state);
  const isThere = range.every((note) => has(note, kind));
  let asHeard = 0;
  let added = 0;
  const notes = range.map((note): [string, NoteOrnament[]] => {
    const now = ornamentsOf(note);
    if (isThere) return [note.id, now.filter((each) => each.kind !== kind)];
    if (has(note, kind)) return [note.id, [...now]];
    const ornament = measured(state, note, kind);
    added++;
    if (ornament.unmeasured !== true) asHeard++;
    const rest = now.filter((each) => each.kind !== INSTEAD_OF[kind]);
    return [note.id, [...rest, ornament].sort((a, b) => ORDER.indexOf(a.kind) - ORDER.indexOf(b.kind))];
  });
  const step = onRange(context, { kind: 'ornaments', notes }, '');
  if (step.effects.length === 0) return step;
  if (isThere) return { ...step, state: say(step.state, `${kind} removed`) };
  const how =
    asHeard === added
      ? ', as heard'
      : asHeard === 0
        ? "; the recording doesn't show how much"
        : `; the recording shows how much in ${asHeard} of ${added}`;
  return { ...step, state: say(step.state, `${kind}${how}`) };
}

/** The ornament as measured in the recording, or else a usual one. */
function measured({ ears }: UiState, note: Note, kind: SaidKind): NoteOrnament {
  const heard = ears === null ? [] : heardOrnaments(ears.samples, note);
  return heard.find((each) => each.kind === kind) ?? usualOrnament(kind);
}
