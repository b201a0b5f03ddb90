import type { JudgedNote } from '../../check/judging/judge.ts';
import type { TeacherSound } from '../../export/page/options.ts';
import type { Take } from '../../take/schema.ts';

/** Sound before and after a line, so that its first note has its attack. */
const AROUND_SEC = 0.08;

/** Where each line of the pupil's take is in the teacher's: from the first to the last matching note. */
export function linesInTeacher(
  lines: readonly { readonly first: number; readonly last: number }[],
  judged: readonly JudgedNote[],
  teacher: Pick<Take, 'notes'>,
  pupil: Pick<Take, 'notes'>,
): TeacherSound['lines'] {
  const place = new Map(judged.map(({ note, referenceIndex }) => [note.id, referenceIndex]));
  return lines.map(({ first, last }) => {
    const inside = pupil.notes
      .slice(first, last + 1)
      .flatMap(({ id }) => place.get(id) ?? [])
      .filter((index) => index < teacher.notes.length);
    if (inside.length === 0) return null;
    const from = teacher.notes[Math.min(...inside)].onsetSec;
    const to = teacher.notes[Math.max(...inside)].offsetSec;
    return { fromSec: Math.max(0, from - AROUND_SEC), toSec: to + AROUND_SEC };
  });
}
