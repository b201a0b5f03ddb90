import type { Note } from '../../tab/note.ts';
import type { Take } from '../schema.ts';

/**
 * One note that an edit changed. Both sides hold only the fields that differ, or the whole note if it was added or
 * removed.
 */
interface NotePatch {
  readonly id: string;
  /** Null when the note was not there before; then `at` is its position after. */
  readonly before: Partial<Note> | null;
  /** Null when the note is not there after; then `at` is its position before. */
  readonly after: Partial<Note> | null;
  readonly at?: number;
}

/** The parts of a take, besides its notes, that an edit may replace. */
export const PARTS = ['harp', 'beats', 'phrases', 'words', 'leftOut', 'title', 'advice'] as const;
type Part = (typeof PARTS)[number];

/** The difference between two states of a take, in both directions, so that an edit can be undone on another day. */
export type TakePatch = {
  readonly notes?: readonly NotePatch[];
} & {
  /** A side is missing if the take has no such part. */
  readonly [P in Part]?: { readonly before?: Take[P]; readonly after?: Take[P] };
};

/** Whether two values are the same as JSON, whatever the order of keys, which reading and writing may change. */
function same(a: unknown, b: unknown): boolean {
  if (a === b) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
  if (Array.isArray(a) !== Array.isArray(b)) return false;
  if (Array.isArray(a) && a.length !== (b as unknown[]).length) return false;
  const [one, other] = [a, b] as Record<string, unknown>[];
  for (const key in one) if (!same(one[key], other[key])) return false;
  // JSON leaves out what is undefined.
  for (const key in other) if (other[key] !== undefined && !(key in one)) return false;
  return true;
}

/** What changed from `before` to `after`; null when nothing did. Notes that both hold keep their order. */
export function diffTakes(before: Take, after: Take): TakePatch | null {
  const patch: { -readonly [K in keyof TakePatch]: TakePatch[K] } = {};
  const notes = before.notes === after.notes ? [] : diffNotes(before.notes, after.notes);
  if (notes.length > 0) patch.notes = notes;
  for (const part of PARTS) {
    if (same(before[part], after[part])) continue;
    Object.assign(patch, { [part]: { before: before[part], after: after[part] } });
  }
  return Object.keys(patch).length === 0 ? null : patch;
}

function diffNotes(before: readonly Note[], after: readonly Note[]): NotePatch[] {
  const old = new Map(before.map((note) => [note.id, note]));
  const kept = new Set(after.map(({ id }) => id));
  const patches: NotePatch[] = [];
  before.forEach((note, at) => {
    if (!kept.has(note.id)) patches.push({ id: note.id, before: note, after: null, at });
  });
  after.forEach((note, at) => {
    const was = old.get(note.id);
    if (was === undefined) patches.push({ id: note.id, before: null, after: note, at });
    else if (was !== note) {
      const fields = diffFields(was, note);
      if (fields !== null) patches.push({ id: note.id, ...fields });
    }
  });
  return patches;
}

function diffFields(was: Note, is: Note): { before: Partial<Note>; after: Partial<Note> } | null {
  const [before, after]: [Record<string, unknown>, Record<string, unknown>] = [{}, {}];
  let differs = false;
  for (const key of Object.keys({ ...was, ...is }) as (keyof Note)[]) {
    if (same(was[key], is[key])) continue;
    before[key] = was[key];
    after[key] = is[key];
    differs = true;
  }
  return differs ? { before, after } : null;
}

/**
 * Applies a patch to a take, in either direction.
 * @param to `after` does or redoes the edit, `before` undoes it
 * @throws RangeError when the take is not in the state that the patch starts from
 */
export function applyPatch(take: Take, patch: TakePatch, to: 'before' | 'after'): Take {
  const from = to === 'after' ? 'before' : 'after';
  const next: Take = { ...take };
  if (patch.notes !== undefined) next.notes = patchNotes(take.notes, patch.notes, from, to);
  for (const part of PARTS) {
    const change = patch[part];
    if (change === undefined) continue;
    if (!same(take[part], change[from]))
      throw new RangeError(`the ${part} of the take are not those of the edit`);
    if (change[to] === undefined) delete (next as Partial<Take>)[part];
    else Object.assign(next, { [part]: change[to] });
  }
  return next;
}

function patchNotes(
  notes: Take['notes'],
  patches: readonly NotePatch[],
  from: 'before' | 'after',
  to: 'before' | 'after',
): Take['notes'] {
  const byId = new Map(patches.map((patch) => [patch.id, patch]));
  const result: Take['notes'] = [];
  let met = 0;
  for (const note of notes) {
    const patch = byId.get(note.id);
    if (patch === undefined) {
      result.push(note);
      continue;
    }
    met++;
    const was = patch[from];
    if (was === null || Object.entries(was).some(([key, value]) => !same(note[key as keyof Note], value))) {
      throw new RangeError(`note ${note.id} is not as the edit left it`);
    }
    const becomes = patch[to];
    if (becomes !== null) result.push(merged(note, was, becomes));
  }
  // In order of final position: each is right once those before it are in place.
  const coming = patches.filter((patch) => patch[from] === null);
  if (met + coming.length !== patches.length) throw new RangeError('a note of the edit is missing');
  for (const { at, [to]: note } of coming.sort((a, b) => (a.at ?? 0) - (b.at ?? 0))) {
    result.splice(at ?? result.length, 0, note as Take['notes'][number]);
  }
  return result;
}

/** A note with its changed fields; those that only the other side had are dropped. */
function merged(note: Note, was: Partial<Note>, becomes: Partial<Note>): Take['notes'][number] {
  const next: Record<string, unknown> = { ...note, ...becomes };
  for (const key of Object.keys(was)) if (!(key in becomes)) delete next[key];
  return next as Take['notes'][number];
}
