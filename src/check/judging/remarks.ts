import type { Take } from '../../take/schema.ts';
import { withArticle } from '../../text/article.ts';
import { counted, countedInWords } from '../../text/counted.ts';
import type { ExpectedNotes } from '../align/expected.ts';
import type { HeldThrough } from '../align/held-through.ts';
import type { Match } from '../align/match.ts';
import type { Reference } from '../align/reference.ts';
import { intervalInWords, placeInWords, sectionInWords } from '../words.ts';

/** The results for a take as a whole. */
export interface Overall {
  readonly take: Take;
  readonly reference: Reference;
  readonly match: Match;
  readonly expected: Pick<ExpectedNotes, 'sameHarp' | 'cutChords'>;
  /** Notes that agree with the reference. */
  readonly right: number;
  /** See `isOtherTune`. */
  readonly otherTune: boolean;
  readonly bends: boolean;
  readonly heldThrough: HeldThrough;
  /** Places in the reference of notes that were hardly heard. */
  readonly faint: ReadonlySet<number>;
  /** Times at which a note may have been tongued twice: the recording leaves it open. */
  readonly openSec: readonly number[];
}

/** When fewer notes than this share agree, another tune was probably played. Chosen by hand. */
const FEW_RIGHT = 0.4;

/** Whether a take is so unlike its reference that another tune was probably played: then nothing else is worth saying. */
export const isOtherTune = (right: number, { notes }: Pick<Reference, 'notes'>): boolean =>
  right < FEW_RIGHT * notes.length;

const otherTuneRemark = (right: number, { notes, name }: Reference): string =>
  `${right === 0 ? 'none' : `only ${right}`} of ${counted(notes.length, 'note')} ${right === 1 ? 'matches' : 'match'} '${name}': is it the right tune?`;

/** Plain sentences about the take as a whole; for another tune, only that it is one. */
export function remarksOn({
  take,
  reference,
  match,
  expected,
  right,
  otherTune,
  bends,
  heldThrough,
  faint,
  openSec,
}: Overall): string[] {
  if (otherTune) return [otherTuneRemark(right, reference)];
  const { key, a4Hz, temperament } = take.harp;
  const remarks: string[] = [];
  if (match.shift !== 0) {
    const how = expected.sameHarp ? `on ${withArticle(`${key} harp`)}, ` : '';
    remarks.push(
      `played ${how}${intervalInWords(match.shift)} the reference throughout: judged as transposed`,
    );
  }
  if (expected.cutChords > 0) {
    remarks.push(
      `${countedInWords(expected.cutChords, 'chord')} of the reference can't be played whole on this harp: only the part that can is expected`,
    );
  }
  if (!reference.timed) remarks.push('the reference gives no note lengths: timing is not judged');
  const { places, told } = heldThrough;
  if (places.size > 0 && !told) {
    const where = [...places].map((b) => placeInWords(reference.notes[b]));
    remarks.push(
      `${countedInWords(places.size, 'repeated note')} can't be heard apart from the note before in this recording and ${places.size === 1 ? 'is' : 'are'} not judged: ${where.join(', ')}`,
    );
  }
  if (faint.size > 0) {
    const where = [
      ...new Set([...faint].sort((a, b) => a - b).map((b) => sectionInWords(reference.notes[b]))),
    ];
    remarks.push(
      `${countedInWords(faint.size, 'note')} can hardly be heard in this recording and ${faint.size === 1 ? 'counts' : 'count'} as played: ${where.join(', ')}`,
    );
  }
  if (openSec.length > 0) {
    const when = openSec.map((sec) => `${sec.toFixed(1)} s`).join(', ');
    remarks.push(
      `the recording does not show whether you tongued ${countedInWords(openSec.length, 'note')} again: counted as held, at ${when}`,
    );
  }
  if (bends) remarks.push(`bends are judged against A4 = ${a4Hz.toFixed(1)} Hz, ${temperament} temperament`);
  return remarks;
}
