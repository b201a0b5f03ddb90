import type { TabNote } from '../../tab/tab-note.ts';
import type { Take } from '../../take/schema.ts';
import type { ReferenceNote } from '../align/reference.ts';
import type { Remark, Tolerances } from '../finding.ts';
import { holeName, placeInWords } from '../words.ts';

/** A bend that the reference misses too is a fault only when the student's is worse by this much, in cents. */
const WORSE_CENTS = 10;

/**
 * Whether a bend (or overbend) is short or too deep; null when it is good, too short to judge, or missed in the reference, too.
 * @param cents relative to the bend that was wanted; positive means not deep enough
 */
export function bendRemark(
  note: Pick<Take['notes'][number], 'intonation'>,
  target: TabNote,
  cents: number,
  wanted: ReferenceNote,
  { bendCents }: Tolerances,
): Remark | null {
  if (note.intonation === null || Math.abs(cents) <= bendCents) return null;
  const there = wanted.played?.cents ?? 0;
  const reference = Math.sign(there) === Math.sign(cents) ? Math.abs(there) : 0;
  if (reference > bendCents && Math.abs(cents) < reference + WORSE_CENTS) return null;
  if (target.over) return overbendRemark(target, cents, wanted);
  const depth = 100 * target.bend;
  const reached = Math.max(0, Math.round(depth - cents));
  const place = placeInWords(wanted);
  return cents > 0
    ? {
        kind: 'bend-short',
        value: cents,
        message: `the bend ${holeName(target)} in ${place} is short by ${Math.round(cents)}: it goes down ${reached} of ${depth} cents`,
      }
    : {
        kind: 'bend-sharp',
        value: cents,
        message: `the bend ${holeName(target)} in ${place} goes ${Math.round(-cents)} cents too deep: ${reached} instead of ${depth} cents`,
      };
}

/** An overbend goes up, so short means flat. */
function overbendRemark(target: TabNote, cents: number, wanted: ReferenceNote): Remark {
  const name = `${target.breath === 'blow' ? 'overblow' : 'overdraw'} ${holeName(target)}`;
  const place = placeInWords(wanted);
  return {
    kind: cents < 0 ? 'bend-short' : 'bend-sharp',
    value: cents,
    message: `the ${name} in ${place} is ${cents < 0 ? 'flat' : 'sharp'} by ${Math.round(Math.abs(cents))} cents`,
  };
}
