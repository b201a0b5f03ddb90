import { CLIPPED, NOISY } from '../../tab/flags.ts';
import type { Take } from '../../take/schema.ts';
import { countedInWords } from '../../text/counted.ts';

type Flagged = Pick<Take['notes'][number], 'flags'>;

/** What can't be measured in a note with this flag, why, and what the player can do about it. */
const REASONS = [
  {
    flag: CLIPPED,
    measures: 'level, attack and brightness',
    why: 'clipped',
    cure: 'record at a lower level',
  },
  {
    flag: NOISY,
    measures: 'pitch, second reeds and tone',
    why: 'drowned in noise',
    cure: 'record nearer to the harp or where it is quieter',
  },
] as const;

/** One sentence for each reason why some notes were not measured; none when all were. */
export function unmeasuredRemarks(notes: readonly Flagged[]): string[] {
  return REASONS.flatMap(({ flag, measures, why, cure }) => {
    const count = notes.filter(({ flags }) => flags.includes(flag)).length;
    if (count === 0) return [];
    const those = count === 1 ? 'it' : 'they';
    return [
      `${measures} are left out in ${countedInWords(count, 'note')} of ${notes.length}, since ${those} ${why}: ${cure}`,
    ];
  });
}
