import { ReedtraceError } from '../../errors.ts';

/** The contents of a lesson in order, from its text file. */
export interface LessonPlan {
  /** Null when the file names none. */
  readonly title: string | null;
  readonly items: readonly LessonItem[];
}

interface LessonItem {
  /** As written, relative to the file. */
  readonly file: string;
  readonly title: string | null;
  /** The teacher's remarks on lines, as `parseAdvice` reads them. */
  readonly notes: readonly string[];
}

/**
 * Reads the text file of a lesson: `# title` first, then a line for each take, `tune.take.json: The tune`, with remarks
 * on its lines indented below it, `2: keep it low`.
 * @throws ReedtraceError E_USAGE for a note without a take above it
 */
export function parseLesson(text: string, name: string): LessonPlan {
  let title: string | null = null;
  const items: { file: string; title: string | null; notes: string[] }[] = [];
  for (const row of text.replace(/^\uFEFF/, '').split(/\r\n?|\n/)) {
    if (row.trim() === '') continue;
    if (row.startsWith('#')) {
      title ??= row.replace(/^#+\s*/, '').trim();
      continue;
    }
    const last = items[items.length - 1];
    if (/^\s/.test(row)) {
      if (last === undefined) {
        throw new ReedtraceError(
          'E_USAGE',
          `'${name}' begins with a remark before any take`,
          'write the take first, as in `tune.take.json: The tune`, with its remarks indented below',
        );
      }
      last.notes.push(row.trim());
      continue;
    }
    const [, file, own] = /^(.*?\.json)\s*(?::\s*(.*))?$/.exec(row.trim()) ?? [null, row.trim(), undefined];
    items.push({ file, title: own === undefined || own === '' ? null : own, notes: [] });
  }
  return { title, items };
}
