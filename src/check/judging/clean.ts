import { median } from '../../statistics.ts';
import { NOISY } from '../../tab/flags.ts';
import type { Take } from '../../take/schema.ts';
import type { ReferenceNote } from '../align/reference.ts';
import type { Remark, Tolerances } from '../finding.ts';
import { holeName, placeInWords } from '../words.ts';

type TakeNote = Take['notes'][number];

/** A second reed that the reference has too is a fault only when the student's is louder by this much, in dB. */
const WORSE_DB = 3;
/** A second reed must sound for this share of a note to be a fault. */
const LEAK_SHARE = 0.5;
/** Harmonics no further than this above the noise are breathy, if the rest of the take is this much clearer. */
const BREATHY_DB = 6;
const CLEARER_DB = 9;
/** In shorter notes, the note before may still be ringing, which is not breath. */
const LEAST_BREATHY_SEC = 0.3;

/** Whether a second reed slipped into a note, loud enough and for long enough to be a fault. */
export function leaks({ leak }: Pick<TakeNote, 'leak'>, { leakDb }: Tolerances): boolean {
  if (leak === null || (leak.kind ?? 'leak') !== 'leak') return false;
  return leak.levelDb >= leakDb && (leak.share ?? 1) >= LEAK_SHARE;
}

/** A reed that stopped this recently may still ring for a good part of a note this short. */
const RINGS_SEC = 0.15;
const SHORT_SEC = 0.4;

/** Whether the second reed of a note may be the room's echo of the note before it. */
function mayBeRing({ leak, breath, onsetSec, offsetSec }: TakeNote, before: TakeNote | undefined): boolean {
  if (leak === null || before === undefined || offsetSec - onsetSec > SHORT_SEC) return false;
  return before.hole === leak.hole && before.breath === breath && onsetSec - before.offsetSec <= RINGS_SEC;
}

/** Whether noise leaves enough of a note to tell whether it is clean. */
export const canBeJudged = ({ flags }: Pick<TakeNote, 'flags'>): boolean => !flags.includes(NOISY);

/** How clear the notes of a take usually are, in dB of harmonicity. */
export const usualHarmonicity = (notes: readonly TakeNote[]): number =>
  median(notes.map(({ harmonicityDb }) => harmonicityDb));

/** Remarks on how clean a note is: a second reed, or else breath. @param before  the note before it */
export function cleanRemarks(
  note: TakeNote,
  wanted: ReferenceNote | null,
  usualDb: number,
  tolerances: Tolerances,
  before?: TakeNote,
): Remark[] {
  const { leak } = note;
  const place = wanted === null ? '' : ` in ${placeInWords(wanted)}`;
  const there = wanted?.played;
  if (leak !== null && leaks(note, tolerances)) {
    const leaksToo =
      there !== undefined && leaks(there, tolerances) && leak.levelDb < (there.leak?.levelDb ?? 0) + WORSE_DB;
    if (leaksToo || mayBeRing(note, before)) return [];
    return [
      {
        kind: 'second-reed',
        value: leak.levelDb,
        message: `hole ${leak.hole} sounds along with ${holeName(note)}${place}, ${Math.round(-leak.levelDb)} dB below it`,
      },
    ];
  }
  // Another reed, however soft, would count as noise here.
  const breathy =
    leak === null &&
    // Two reeds beat with each other.
    note.holes === undefined &&
    note.intonation !== null &&
    note.offsetSec - note.onsetSec >= LEAST_BREATHY_SEC &&
    note.harmonicityDb < BREATHY_DB &&
    note.harmonicityDb < usualDb - CLEARER_DB &&
    !(there !== undefined && there.harmonicityDb < note.harmonicityDb + WORSE_DB);
  if (!breathy) return [];
  return [
    {
      kind: 'breath-noise',
      value: note.harmonicityDb,
      message: `${holeName(note)}${place} is breathy: its tone is ${Math.round(note.harmonicityDb)} dB above the noise, your other notes ${Math.round(usualDb)}`,
    },
  ];
}
