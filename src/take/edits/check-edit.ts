import { z } from 'zod';
import { findDisorder } from '../faults.ts';
import { findFaultOfParts } from '../parse.ts';
import type { Take } from '../schema.ts';
import type { Edit } from './edit.ts';
import { PARTS } from './patch.ts';

const place = z.number().int().min(0);
const side = z.looseObject({}).nullable();
const change = z.looseObject({ before: z.unknown().optional(), after: z.unknown().optional() }).optional();

/** The outer form of an edit; what its patch puts into the take is checked as part of the take. */
const editSchema = z.union([
  z.looseObject({ seq: place, at: z.iso.datetime(), what: z.enum(['undo', 'redo']), of: place }),
  z.looseObject({
    seq: place,
    at: z.iso.datetime(),
    what: z.string(),
    patch: z.looseObject({
      notes: z
        .array(
          z
            .looseObject({ id: z.string(), before: side, after: side, at: place.optional() })
            .refine(({ before, after }) => before !== null || after !== null),
        )
        .optional(),
      ...Object.fromEntries(PARTS.map((part) => [part, change])),
    }),
  }),
]);

/** Whether a line of a journal or of a take's edits has the form of an edit, wherever it came from. */
export function isEdit(value: unknown): value is Edit {
  return editSchema.safeParse(value).success;
}

/**
 * Checks that a take is still valid after an edit: edits also come from files, which anyone may write.
 * @throws RangeError when the take is no longer valid
 */
export function checkEdited(was: Take, is: Take): void {
  const known = new Set(was.notes);
  const notes = is.notes === was.notes ? [] : is.notes.filter((note) => !known.has(note));
  const parts = PARTS.filter((part) => is[part] !== was[part]).map((part) => [part, is[part]]);
  const fault = findFaultOfParts({ notes, ...Object.fromEntries(parts) }) ?? findDisorder(is);
  if (fault !== null) throw new RangeError(`the edit would damage the take (${fault})`);
}
