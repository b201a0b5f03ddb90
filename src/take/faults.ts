import type { z } from 'zod';
import { LIMITS } from '../limits.ts';
import { TICKS_PER_BEAT } from '../music/rhythm/metre.ts';
import { counted } from '../text/counted.ts';
import type { Take } from './schema.ts';

/** Beats that a take may have beyond those of its recording: rests before the first note, long last notes. */
const SPARE_BEATS = 1_000;

/** Checks what the schema of a single field can't: order in time, unique names, positions that exist. */
export function findDisorder(take: Take): string | null {
  return findDisorderOfNotes(take) ?? findDisorderOfPhrases(take) ?? findDisorderOfBeats(take);
}

function findDisorderOfNotes({ notes }: Take): string | null {
  const ids = new Set<string>();
  for (const [index, note] of notes.entries()) {
    if (ids.has(note.id)) return `notes[${index}].id: '${note.id}' is used twice`;
    ids.add(note.id);
    if (note.offsetSec < note.onsetSec) return `notes[${index}]: ends before it begins`;
    if (index > 0 && note.onsetSec < notes[index - 1].onsetSec) {
      return `notes[${index}]: begins before the previous note`;
    }
  }
  return null;
}

function findDisorderOfPhrases({ phrases, notes }: Take): string | null {
  for (const [index, { firstNote, lastNote, like }] of phrases.entries()) {
    if (lastNote < firstNote || lastNote >= notes.length) {
      return `phrases[${index}]: notes ${firstNote} to ${lastNote} of ${notes.length}`;
    }
    if (!like) continue;
    if (like.phrase >= index) return `phrases[${index}].like.phrase: ${like.phrase} is not an earlier phrase`;
    for (const [i, { note, other }] of like.differences.entries()) {
      const outside = [note, other].find((place) => place !== null && place >= notes.length);
      if (outside !== undefined) {
        return `phrases[${index}].like.differences[${i}]: note ${outside} of ${notes.length}`;
      }
    }
  }
  return null;
}

function findDisorderOfBeats({ beats, source }: Take): string | null {
  if (beats.notes === undefined) return null;
  const { gridSec } = beats;
  for (let i = 1; i < gridSec.length; i++) {
    if (gridSec[i] < gridSec[i - 1]) return `beats.gridSec[${i}]: comes before the previous beat`;
  }
  // The recording limits the beats: a note far too late would have all bars before it written out.
  const most = Math.ceil(SPARE_BEATS + LIMITS.beatsPerSec.most * source.durationSec);
  for (const [i, { atTicks, lengthTicks }] of beats.notes.entries()) {
    const beat = Math.ceil((atTicks + lengthTicks) / TICKS_PER_BEAT);
    if (beat > most) return `beats.notes[${i}]: ends on beat ${beat} of ${most} at most`;
  }
  return null;
}

/**
 * A schema issue in words, with the place, and with the value if it is too large.
 * @param whole  the value that was checked
 */
export function describeIssue(issue: z.core.$ZodIssue, whole: unknown): string {
  const path = issue.path
    .map((part) => (typeof part === 'number' ? `[${part}]` : `.${String(part)}`))
    .join('')
    .replace(/^\./, '');
  const message = describeBound(issue, valueAt(whole, issue.path)) ?? issue.message;
  return path === '' ? message : `${path}: ${message}`;
}

function describeBound(issue: z.core.$ZodIssue, value: unknown): string | null {
  if (issue.code !== 'too_big' && issue.code !== 'too_small') return null;
  const bound =
    issue.code === 'too_big' ? `the limit is ${issue.maximum}` : `the minimum is ${issue.minimum}`;
  if (typeof value === 'number') return `${value}; ${bound}`;
  if (typeof value === 'string') return `${counted(value.length, 'character')}; ${bound}`;
  return Array.isArray(value) ? `${counted(value.length, 'entry', 'entries')}; ${bound}` : null;
}

function valueAt(whole: unknown, path: readonly PropertyKey[]): unknown {
  let value = whole;
  for (const part of path) value = (value as Record<PropertyKey, unknown> | null | undefined)?.[part];
  return value;
}
