import { formatTime } from './sheet-time.ts';

/** A sound that was heard and is not taken for a note. */
interface LeftOutSound {
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly why: string;
}

/** Sounds left out for one reason, nearer to each other than this, are told as one stretch. */
const APART_SEC = 2;
/** More stretches than this are told by their number. */
const MOST_TOLD = 3;

const IN_WORDS: Readonly<Record<string, string>> = {
  talk: 'talk',
  noise: 'noise',
  'other-instrument': 'another instrument',
  'not-on-harp': 'not a note of this harp',
  doubtful: 'too faint or too short to be sure of',
};

/** What was left out of the tab, in a sentence: why, when and how many sounds; empty when nothing was. */
export function leftOutInWords(sounds: readonly LeftOutSound[]): string {
  const stretches: { why: string; fromSec: number; toSec: number; count: number }[] = [];
  for (const { onsetSec, offsetSec, why } of sounds) {
    const last = stretches.at(-1);
    if (last !== undefined && last.why === why && onsetSec - last.toSec < APART_SEC) {
      last.toSec = offsetSec;
      last.count++;
    } else stretches.push({ why, fromSec: onsetSec, toSec: offsetSec, count: 1 });
  }
  if (stretches.length === 0) return '';
  const told = stretches.slice(0, MOST_TOLD).map(({ why, fromSec, toSec, count }) => {
    const from = formatTime(fromSec);
    const to = formatTime(toSec);
    return `${IN_WORDS[why] ?? why} ${from === to ? from : `${from} to ${to}`} (${count === 1 ? '1 sound' : `${count} sounds`})`;
  });
  const more = stretches.length - told.length;
  return `Left out: ${told.join('; ')}${more > 0 ? `; and ${more} more` : ''}.`;
}
