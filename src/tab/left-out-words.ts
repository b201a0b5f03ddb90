import { formatTime } from './sheet-time.ts';

/** A sound that was heard but left out. */
interface LeftOutSound {
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly why: string;
}

/** Sounds closer to each other than this are reported as one stretch. */
const APART_SEC = 2;
/** Beyond this many places plus one, the rest are only counted. */
const MOST_TOLD = 3;
/** Sounds that may have been notes after all. */
const DOUBTFUL = 'doubtful';
/** Sounds that can't be brought back: the harp has no such note. */
const NOT_ON_HARP = 'not-on-harp';

const IN_WORDS: Readonly<Record<string, string>> = {
  talk: 'talk',
  noise: 'noise, echo or something faint',
  'other-instrument': 'another instrument',
  [NOT_ON_HARP]: 'not a note of this harp',
};

interface Stretch {
  readonly fromSec: number;
  toSec: number;
}

/**
 * What was left out of the tab, in sentences: where a note may be missing, then what else was heard, why it is not a
 * note, when, and how many sounds. Empty when nothing was left out.
 */
export function leftOutInWords(sounds: readonly LeftOutSound[]): string[] {
  const doubtful = sounds.filter(({ why }) => why === DOUBTFUL);
  const others = sounds.filter(({ why }) => why !== DOUBTFUL);
  const reasons = [...new Set(others.map(({ why }) => why))].map((why) => {
    const these = others.filter((sound) => sound.why === why);
    return `${IN_WORDS[why] ?? why} at ${placesOf(these)} (${these.length === 1 ? '1 sound' : `${these.length} sounds`})`;
  });
  const sentences: string[] = [];
  if (doubtful.length > 0)
    sentences.push(
      `Something may be missing at ${placesOf(doubtful)}: too faint or too short to be sure of.`,
    );
  if (reasons.length > 0) sentences.push(`Left out: ${reasons.join('; ')}.`);
  if (sounds.some(({ why }) => why !== NOT_ON_HARP))
    sentences.push('`transcribe --keep-all` writes them as doubtful notes.');
  return sentences;
}

/** When sounds occurred; those close together count as one stretch. */
function placesOf(sounds: readonly LeftOutSound[]): string {
  const stretches: Stretch[] = [];
  for (const { onsetSec, offsetSec } of sounds) {
    const last = stretches.at(-1);
    if (last !== undefined && onsetSec - last.toSec < APART_SEC) last.toSec = offsetSec;
    else stretches.push({ fromSec: onsetSec, toSec: offsetSec });
  }
  const places = stretches.map(({ fromSec, toSec }) => {
    const [from, to] = [formatTime(fromSec), formatTime(toSec)];
    return from === to ? from : `${from} to ${to}`;
  });
  const more = places.length - MOST_TOLD;
  if (more > 1) return `${places.slice(0, MOST_TOLD).join(', ')} and ${more} more places`;
  return places.length === 1
    ? places[0]
    : `${places.slice(0, -1).join(', ')} and ${places[places.length - 1]}`;
}
