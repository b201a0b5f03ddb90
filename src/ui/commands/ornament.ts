import { type NoteOrnament, type OrnamentKind, ornamentsOf, usualOrnament } from '../../tab/ornament.ts';
import { heardOrnaments } from '../state/ornaments.ts';
import { type Step, say, type UiState } from '../state/state.ts';
import { act, type CommandContext, noteAt, still } from './act.ts';

/** A shake is of two holes: `+` says which. */
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

/** Hands and tremolo are two names for a level that swings: a note has one of them. */
const INSTEAD_OF: Readonly<Partial<Record<SaidKind, SaidKind>>> = { tremolo: 'hand', hand: 'tremolo' };

/** Asks what is done to the note, or is no longer. */
export function askOrnament({ state }: CommandContext): Step {
  return still(say({ ...state, mode: { kind: 'ornament' } }, `what is done to it? ${nowText(state)}`));
}

function nowText(state: UiState): string {
  const now = ornamentsOf(noteAt(state)).flatMap(({ kind }) => (kind === 'shake' ? [] : [kind]));
  return now.length === 0 ? 'nothing so far' : `so far ${now.join(', ')}; the same again takes it away`;
}

/** What the key after that does: an ornament comes or goes, or all go. */
export function ornamentKey(context: CommandContext, command: string | undefined): Step {
  if (command === 'ornament-none') return without(context);
  return command === 'ornament-kind' ? toggle(context, KINDS[context.key]) : still(context.state);
}

function without(context: CommandContext): Step {
  const note = noteAt(context.state);
  // Two holes in turn are the tab itself.
  const ornaments = ornamentsOf(note).filter(({ kind }) => kind === 'shake');
  const step = act(context, { kind: 'ornaments', id: note.id, ornaments }, 'nothing was done to it');
  return step.effects.length === 0 ? step : { ...step, state: say(step.state, 'played plainly') };
}

function toggle(context: CommandContext, kind: SaidKind): Step {
  const { state } = context;
  const note = noteAt(state);
  const now = ornamentsOf(note);
  const isThere = now.some((ornament) => ornament.kind === kind);
  const rest = now.filter((each) => each.kind !== kind && (isThere || each.kind !== INSTEAD_OF[kind]));
  const added = isThere ? [] : [measured(state, kind)];
  const ornaments = [...rest, ...added].sort((a, b) => ORDER.indexOf(a.kind) - ORDER.indexOf(b.kind));
  const step = act(context, { kind: 'ornaments', id: note.id, ornaments }, '');
  if (step.effects.length === 0) return step;
  if (isThere) return { ...step, state: say(step.state, `no ${kind} any more`) };
  const how = added[0].unmeasured === true ? '; how much, the recording does not tell' : ', as it sounds';
  return { ...step, state: say(step.state, `${kind}${how}`) };
}

/** As the recording has it, else as players usually do. */
function measured({ ears, edited, at }: UiState, kind: SaidKind): NoteOrnament {
  const heard = ears === null ? [] : heardOrnaments(ears.samples, edited.take.notes[at]);
  return heard.find((each) => each.kind === kind) ?? usualOrnament(kind);
}
