import type { Take } from '../../take/schema.ts';

/** A phrase on the screen: positions of its first and last note, both inclusive. */
export interface Range {
  readonly first: number;
  readonly last: number;
  /** `A`, `B'`, …; empty when the take has none. */
  readonly label: string;
  /** The player's name of the section that begins with it; empty when it has none. */
  readonly name: string;
  /** What the teacher says about it; empty for nothing. */
  readonly advice: string;
}

/** The phrases of a take; notes outside phrases make ranges of their own, so that every note is in one. */
export function phraseRanges(take: Pick<Take, 'notes' | 'phrases'>): Range[] {
  const ranges: Range[] = [];
  let next = 0;
  const bare = { label: '', name: '', advice: '' };
  for (const { firstNote, lastNote, label = '', name = '', advice = '' } of [...take.phrases].sort(
    (a, b) => a.firstNote - b.firstNote,
  )) {
    if (lastNote < next) continue;
    if (firstNote > next) ranges.push({ ...bare, first: next, last: firstNote - 1 });
    ranges.push({ first: Math.max(next, firstNote), last: lastNote, label, name, advice });
    next = lastNote + 1;
  }
  if (next < take.notes.length) ranges.push({ ...bare, first: next, last: take.notes.length - 1 });
  return ranges;
}

/** Position of the phrase that holds a note; 0 when there are none. */
export function phraseAt(ranges: readonly Range[], note: number): number {
  let low = 0;
  let high = ranges.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (ranges[middle].first <= note) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** How many places to check each phrase has; those before the first note count for the first. */
export function marksByPhrase(
  ranges: readonly Range[],
  marks: readonly { readonly kind: string; readonly at: number }[],
): number[] {
  const counts = ranges.map(() => 0);
  for (const { kind, at } of marks) if (kind !== 'harp') counts[phraseAt(ranges, Math.max(0, at))]++;
  return counts;
}
