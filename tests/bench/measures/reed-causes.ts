import { playableNotes } from '../../../src/harp/playable.ts';
import { NOISY } from '../../../src/tab/flags.ts';
import { centsBetween } from '../../../src/units.ts';
import type { EstimatedNote } from '../scores/measure.ts';
import type { Pair } from '../scores/metrics.ts';
import type { LabelledTake } from '../sets/takes.ts';
import { LOUD_DB } from './second-reeds.ts';

/** Why a second reed is missed or wrongly reported; the first cause that fits is counted. */
export const REED_CAUSES = {
  'no-note': 'the note itself missed or made up',
  'note-misread': 'hole, breath or technique of the note misread',
  'other-hole': 'another hole named',
  'left-out': 'left out as too noisy to judge',
  coincident: 'unison, fifth, octave or twelfth of the note',
  'another-instrument': 'another instrument plays along',
  short: 'note shorter than 0.12 s',
  'note-near-by': 'a note near by has its pitch: echo, or a late onset',
  'near-limit': 'within 1.5 dB of the limit',
  other: 'other',
} as const;

export type ReedCause = keyof typeof REED_CAUSES;

/** How many are missed and how many wrongly said for each cause. */
export type ReedCauses = Readonly<
  Record<ReedCause, { readonly missed: number; readonly wronglySaid: number }>
>;

const SHORT_SEC = 0.12;
const NEAR_LIMIT_DB = 1.5;
const NEAR_PITCH_CENTS = 70;
/** Notes before and after whose pitch may be taken for a second reed. */
const NOTES_BEFORE = 3;
const NOTES_AFTER = 1;
/** Reeds at these ratios share half of their partials with the note, or all. */
const COINCIDENT_CENTS = [0, 702, 1200, 1902, 2400];
const COINCIDENT_WITHIN_CENTS = 30;
/** Categories of takes in which something else sounds. */
const ACCOMPANIED = ['guitar', 'click'];

/** Sorts what is missed and what is wrongly said of one take's second reeds from `LOUD_DB` on. */
export function reedCauses(
  take: LabelledTake,
  estimate: readonly EstimatedNote[],
  pairs: readonly Pair[],
): ReedCauses {
  const reference = take.notes;
  const estimateOf = new Map(pairs);
  const referenceOf = new Map(pairs.map(([r, e]) => [e, r]));
  const reeds = playableNotes(take.harp).filter(({ bend, over }) => bend === 0 && !over);
  const reedHz = (hole: number, breath: string): number =>
    reeds.find((reed) => reed.hole === hole && reed.breath === breath)?.f0Hz ?? Number.NaN;
  const causes = noCauses();

  reference.forEach((note, r) => {
    if (note.leak === null || note.leak.dB < LOUD_DB) return;
    const e = estimateOf.get(r);
    if (e !== undefined && estimate[e].leak?.hole === note.leak.hole) return;
    causes[
      firstCause(r, e, note.leak.dB, reedHz(note.leak.hole, note.breath), e !== undefined && estimate[e].leak)
    ].missed++;
  });
  estimate.forEach((note, e) => {
    if (note.leak === null || note.leak.levelDb < LOUD_DB) return;
    const r = referenceOf.get(e);
    const truth = r === undefined ? null : reference[r].leak;
    if (truth?.hole === note.leak.hole) return;
    causes[firstCause(r, e, note.leak.levelDb, reedHz(note.leak.hole, note.breath), truth)].wronglySaid++;
  });
  return causes;

  /** @param otherReed what the other side has instead; null or false when nothing */
  function firstCause(
    r: number | undefined,
    e: number | undefined,
    levelDb: number,
    hz: number,
    otherReed: object | null | false,
  ): ReedCause {
    if (r === undefined || e === undefined) return 'no-note';
    const [truth, found] = [reference[r], estimate[e]];
    if (truth.hole !== found.hole || truth.breath !== found.breath || truth.bend !== found.bend)
      return 'note-misread';
    if (otherReed) return 'other-hole';
    if (found.leak === null && found.flags?.includes(NOISY)) return 'left-out';
    if (isCoincident(hz, truth.f0Hz)) return 'coincident';
    if (ACCOMPANIED.includes(take.category)) return 'another-instrument';
    if (truth.offsetSec - truth.onsetSec < SHORT_SEC) return 'short';
    const around = reference.filter((_, i) => i !== r && i >= r - NOTES_BEFORE && i <= r + NOTES_AFTER);
    if (around.some(({ f0Hz }) => Math.abs(centsBetween(f0Hz, hz)) < NEAR_PITCH_CENTS)) return 'note-near-by';
    return levelDb < LOUD_DB + NEAR_LIMIT_DB ? 'near-limit' : 'other';
  }
}

/** The causes of several takes together. */
export function addCauses(parts: readonly ReedCauses[]): ReedCauses {
  const sum = noCauses();
  for (const part of parts) {
    for (const [cause, counts] of Object.entries(sum)) {
      counts.missed += part[cause as ReedCause].missed;
      counts.wronglySaid += part[cause as ReedCause].wronglySaid;
    }
  }
  return sum;
}

function noCauses(): Record<ReedCause, { missed: number; wronglySaid: number }> {
  const causes = Object.keys(REED_CAUSES) as ReedCause[];
  return Object.fromEntries(causes.map((cause) => [cause, { missed: 0, wronglySaid: 0 }])) as ReturnType<
    typeof noCauses
  >;
}

function isCoincident(hz: number, mainHz: number): boolean {
  const apartCents = Math.abs(centsBetween(hz, mainHz));
  return COINCIDENT_CENTS.some((cents) => Math.abs(apartCents - cents) < COINCIDENT_WITHIN_CENTS);
}
