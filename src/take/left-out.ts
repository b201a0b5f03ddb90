import type { Take } from './schema.ts';

type TakeNote = Take['notes'][number];
interface Stretch {
  readonly onsetSec: number;
  readonly offsetSec: number;
}

/** The part of a stretch that lies between the notes before and after its middle. */
export function roomFor(notes: readonly TakeNote[], { onsetSec, offsetSec }: Stretch): Stretch {
  const middle = (onsetSec + offsetSec) / 2;
  const after = notes.findIndex((note) => note.onsetSec > middle);
  const next = after < 0 ? undefined : notes[after];
  const before = after < 0 ? notes.at(-1) : notes[after - 1];
  return {
    onsetSec: Math.max(onsetSec, before?.offsetSec ?? 0),
    offsetSec: Math.min(offsetSec, next?.onsetSec ?? offsetSec),
  };
}

/** The take in which those of these notes that had once been left out are left out again. */
export function leftOutAgain(take: Take, gone: readonly TakeNote[]): Take {
  const back = gone.flatMap(({ onsetSec, offsetSec, f0Hz, leftOutAs }) =>
    leftOutAs === undefined ? [] : [{ onsetSec, offsetSec, f0Hz, why: leftOutAs }],
  );
  if (back.length === 0) return take;
  return { ...take, leftOut: [...(take.leftOut ?? []), ...back].sort((a, b) => a.onsetSec - b.onsetSec) };
}
