import type { TabNote } from '../../tab/tab-note.ts';
import type { Take } from '../../take/schema.ts';

/** A take and the day on which it was played. */
export interface DatedTake {
  readonly name: string;
  readonly take: Take;
  /** `YYYY-MM-DD`; null when unknown. */
  readonly date: string | null;
  /** What a tune asks for, by note id, where the take was compared with one. */
  readonly asked?: ReadonlyMap<string, AskedBend>;
}

/** The bend that a tune asks for at a note, and how far from it the note was held; `target` is null where it asks for no bend. */
export interface AskedBend {
  readonly target: TabNote | null;
  /** Positive means not deep enough, or too high for an overbend. */
  readonly cents: number;
}

/** A take that was left out because another is of the same recording. */
export interface Copy {
  readonly name: string;
  /** Name of the take that counts. */
  readonly of: string;
}

/** Keeps one take of each recording: the one corrected most, or the first if several are equal. */
export function withoutCopies<T extends DatedTake>(takes: readonly T[]): { takes: T[]; copies: Copy[] } {
  const kept: T[] = [];
  for (const dated of takes) {
    const at = kept.findIndex(({ take }) => isSameRecording(take, dated.take));
    if (at < 0) kept.push(dated);
    else if (dated.take.edits.length > kept[at].take.edits.length) kept[at] = dated;
  }
  const copies = takes.flatMap((dated): Copy[] => {
    const counted = kept.find(({ take }) => isSameRecording(take, dated.take));
    return counted === undefined || counted === dated ? [] : [{ name: dated.name, of: counted.name }];
  });
  return { takes: kept, copies };
}

/** Corrected takes of one recording have at least this share of notes in common. */
const SAME_SHARE = 0.5;

/**
 * Compares the hashes of the recordings; if the notes differ too much, the takes were not made from the same recording
 * after all.
 */
function isSameRecording(a: Take, b: Take): boolean {
  if (a.source.sha256 !== b.source.sha256) return false;
  const heard = new Set(a.notes.map(({ onsetSec, f0Hz }) => `${onsetSec} ${f0Hz}`));
  const same = b.notes.filter(({ onsetSec, f0Hz }) => heard.has(`${onsetSec} ${f0Hz}`)).length;
  return same >= SAME_SHARE * Math.max(a.notes.length, b.notes.length);
}
