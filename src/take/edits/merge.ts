import type { Take } from '../schema.ts';
import { diffTakes, PARTS, type TakePatch } from './patch.ts';

/**
 * The patch that adds one's own changes to a take that another program changed.
 * @param base  the take that both began with
 * @returns null when both changed the same note or the same part, or when there is nothing to do
 */
export function mergePatch(base: Take, mine: Take, theirs: Take): TakePatch | null {
  const own = diffTakes(base, mine);
  const other = diffTakes(base, theirs);
  if (own === null || other === null) return own;
  // A part can't be merged: only one of them may have changed it.
  if (PARTS.some((part) => own[part] !== undefined && other[part] !== undefined)) return null;
  const touched = new Set(other.notes?.map(({ id }) => id));
  if (own.notes?.some(({ id }) => touched.has(id))) return null;
  // Phrases are positions among the notes: if notes moved in one take, they are wrong in the other.
  const moves = ({ notes = [] }: TakePatch) =>
    notes.some(({ before, after }) => before === null || after === null);
  return moves(own) && moves(other) ? null : own;
}
