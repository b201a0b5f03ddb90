import { readFile } from 'node:fs/promises';
import { ReedtraceError } from '../../errors.ts';
import { isEdit } from '../edits/check-edit.ts';
import type { Edit } from '../edits/edit.ts';
import { applyEdit, type EditedTake, openEdits } from '../edits/edits.ts';
import type { Take } from '../schema.ts';
import { checksum, JOURNAL_FORMAT, JOURNAL_VERSION, type JournalHead, journalPath } from './journal.ts';

/** What a journal holds that the take doesn't have yet. */
export type Recovery =
  | { readonly kind: 'nothing' }
  | {
      readonly kind: 'edits';
      readonly edits: readonly Edit[];
      /** Something at its end, or its first line, could not be read. */
      readonly damaged: boolean;
      /** Bytes of the journal to keep when continuing it; null when it is set aside and a new one is started. */
      readonly bytes: number | null;
    }
  /** The journal belongs to another state of the take, such as before it was transcribed again. */
  | { readonly kind: 'foreign'; readonly count: number }
  /** Nothing in it can be read: it is damaged, from a newer version, or not a journal. */
  | { readonly kind: 'unreadable'; readonly why: string };

/**
 * Text of the journal of a take; empty when there is none.
 * @throws ReedtraceError E_NOT_A_FILE
 */
export async function loadJournal(takePath: string): Promise<string> {
  const path = journalPath(takePath);
  return readFile(path, 'utf8').catch((cause: NodeJS.ErrnoException) => {
    if (cause.code === 'ENOENT') return '';
    throw new ReedtraceError(
      'E_NOT_A_FILE',
      `the unsaved changes in '${path}' can't be read (${cause.code})`,
      'move that file elsewhere, or make it readable',
      { cause },
    );
  });
}

interface Line {
  readonly value: unknown;
  /** Where it ends, in bytes from the start of the text. */
  readonly endByte: number;
}

/** The lines of a journal with the right checksum, up to the first damaged one; the head may be missing. */
function readLines(text: string): { head: Line | null; lines: Line[]; isTorn: boolean; isCut: boolean } {
  const found = text.split('\n');
  const rest = found.pop() ?? '';
  const lines: Line[] = [];
  let head: Line | null = null;
  let endByte = 0;
  for (const [index, raw] of found.entries()) {
    endByte += Buffer.byteLength(raw) + 1;
    // An editor, or copying from another system, may have changed the line ends.
    const line = raw.replace(/\r$/, '').replace(/^\uFEFF/, '');
    const isWhole = line.slice(0, 9) === `${checksum(line.slice(9))} `;
    if (!isWhole && index > 0) return { head, lines, isTorn: rest !== '', isCut: true };
    if (!isWhole) continue;
    const read = { value: parse(line.slice(9)), endByte };
    if (index === 0) head = read;
    else lines.push(read);
  }
  return { head, lines, isTorn: rest !== '', isCut: false };
}

/** Null for a line that is not JSON in spite of its checksum: this program never wrote it. */
function parse(json: string): unknown {
  try {
    return JSON.parse(json);
  } catch {
    return null;
  }
}

function readHead(line: Line | null): JournalHead | string {
  if (line === null) return 'its first line is damaged';
  const { value } = line;
  if (typeof value !== 'object' || value === null) return 'it is no journal';
  const { format, version, take } = value as Partial<Record<keyof JournalHead, unknown>>;
  if (format !== JOURNAL_FORMAT || typeof take !== 'string') return 'it is no journal';
  if (version !== JOURNAL_VERSION) return `it is of version ${String(version).slice(0, 20)}`;
  return { format, version, take };
}

/** A first line that was never completed, or that the disk lost with all others, holds no change. */
const isUnbegun = (text: string) =>
  /^\0*$|^[0-9a-f]{0,8}$/.test(text) ||
  (/^[0-9a-f]{8} [^\n]*$/.test(text) && `{"format":"${JOURNAL_FORMAT}"`.startsWith(text.slice(9, 30)));

/**
 * Reads the edits of a journal that can be applied to a take: those that fit it, one after another, and leave it valid.
 * Edits that the take already has are left out.
 * @param hash  of the text of the take
 */
export function readJournal(text: string, take: Take, hash: string): Recovery {
  if (isUnbegun(text)) return { kind: 'nothing' };
  const { head: first, lines, isTorn, isCut } = readLines(text);
  const head = readHead(first);
  // Without a head, only the edits can show that the journal belongs here; if the version is another one, nothing can.
  if (typeof head === 'string' && (first !== null || lines.length === 0)) {
    return { kind: 'unreadable', why: head };
  }
  const whole = lines.findIndex(({ value }) => !isEdit(value));
  const edits = (whole < 0 ? lines : lines.slice(0, whole)) as readonly (Line & { value: Edit })[];
  // The program may have been killed between saving the take and clearing the journal.
  const isHeld = ({ value }: { value: Edit }) =>
    JSON.stringify(take.edits[value.seq - 1]) === JSON.stringify(value);
  const waiting = edits.slice(edits.filter(isHeld).length);
  const isOther = typeof head !== 'string' && head.take !== hash;
  if (waiting.length > 0 && isOther && waiting.length === edits.length) {
    return { kind: 'foreign', count: edits.length };
  }
  const fitting = countFitting(
    openEdits(take),
    waiting.map(({ value }) => value),
  );
  if (waiting.length > 0 && fitting === 0) return { kind: 'foreign', count: waiting.length };
  const isPartly = isCut || whole >= 0 || fitting < waiting.length;
  if (fitting === 0)
    return isPartly ? { kind: 'unreadable', why: 'its lines are damaged' } : { kind: 'nothing' };
  const offered = waiting.slice(0, fitting);
  return {
    kind: 'edits',
    edits: offered.map(({ value }) => value),
    damaged: isTorn || isPartly || first === null,
    bytes: isPartly || first === null ? null : offered[fitting - 1].endByte,
  };
}

/** How many of the first edits fit the take. */
function countFitting(state: EditedTake, edits: readonly Edit[]): number {
  for (const [index, edit] of edits.entries()) {
    try {
      state = applyEdit(state, edit);
    } catch (error) {
      if (error instanceof RangeError) return index;
      throw error;
    }
  }
  return edits.length;
}
