import { median, quantile } from '../statistics.ts';

/** Notes that belong together: positions of the first and the last, both inclusive. */
export interface Phrase {
  readonly firstNote: number;
  readonly lastNote: number;
}

/**
 * A rest this long ends a phrase. Where notes are slow it must be longer, up to the next figure, unless it stands out from
 * the gaps between notes, which a change of breath makes short (chosen on takes whose scores are known).
 */
const SHORTEST_REST_SEC = 0.18;
const REST_SHARE_OF_NOTE = 0.4;
const LONGEST_NEEDED_SEC = 0.6;
const SHORTEST_BREATH_SEC = 0.16;
const STANDS_OUT = 5;
/** If most gaps, up to this quantile, would count as rests, the tune is simply played that way, and a rest must stand out from them. */
const USUAL_GAPS = 0.6;
const DETACHED_TIMES = 1.6;
const DETACHED_MORE_SEC = 0.12;
/** At most this share of the phrases may have fewer notes than `STUMP_NOTES`; other such stumps are joined to a neighbour. */
const STUMP_NOTES = 3;
/** If the median time from note to note is longer than this, each long tone is a phrase of its own. */
const LONG_TONES_SEC = 2.4;
const MOST_STUMPS = 0.25;
/** Phrases of more notes than this are divided after long notes. */
const LONG_PHRASE_NOTES = 24;
/** Such a note is this many times as long as the median, with at least this many notes on either side. */
const LONG_NOTE_STEPS = 1.9;
const FEWEST_NOTES = 4;

/**
 * Divides a take into phrases at its rests (pauses that stand out from the time between notes), and divides phrases that are
 * still long after their long notes.
 */
export function findPhrases(
  notes: readonly { readonly onsetSec: number; readonly offsetSec: number }[],
): Phrase[] {
  if (notes.length === 0) return [];
  const steps = notes.slice(1).map((note, i) => note.onsetSec - notes[i].onsetSec);
  const gaps = notes.slice(1).map((note, i) => note.onsetSec - notes[i].offsetSec);
  const usual = steps.length > 0 ? median(steps) : 0;
  const rest = restOf(gaps, usual);
  const stretches: Phrase[] = [];
  let firstNote = 0;
  for (let i = 1; i <= notes.length; i++) {
    if (i < notes.length && gaps[i - 1] < rest) continue;
    stretches.push({ firstNote, lastNote: i - 1 });
    firstNote = i;
  }
  const phrases = usual >= LONG_TONES_SEC ? stretches : joinStumps(stretches, gaps);
  return phrases.flatMap((phrase) => cutLong(phrase, steps, usual));
}

/** How long a rest must be to end a phrase, judged by the take's own notes and gaps. */
function restOf(gaps: readonly number[], usualStep: number): number {
  if (gaps.length === 0) return SHORTEST_REST_SEC;
  const rest = Math.min(
    Math.max(SHORTEST_REST_SEC, REST_SHARE_OF_NOTE * usualStep),
    Math.max(SHORTEST_BREATH_SEC, STANDS_OUT * median(gaps)),
    LONGEST_NEEDED_SEC,
  );
  if (usualStep >= LONG_TONES_SEC) return rest;
  const usual = quantile(gaps, USUAL_GAPS);
  return usual < rest ? rest : DETACHED_TIMES * usual + DETACHED_MORE_SEC;
}

/**
 * Joins stumps to their neighbours until few are left: the stump with the shortest rest beside it first, across that rest.
 */
function joinStumps(stretches: readonly Phrase[], gaps: readonly number[]): Phrase[] {
  const joined = [...stretches];
  const isOf = (notes: number, { firstNote, lastNote }: Phrase) => lastNote - firstNote + 1 <= notes;
  const join = (stump: number): void => {
    let at = -1;
    for (let i = 1; i < joined.length; i++) {
      if (!isOf(stump, joined[i - 1]) && !isOf(stump, joined[i])) continue;
      if (at < 0 || gaps[joined[i].firstNote - 1] < gaps[joined[at].firstNote - 1]) at = i;
    }
    joined.splice(at - 1, 2, { firstNote: joined[at - 1].firstNote, lastNote: joined[at].lastNote });
  };
  // A single note is not a phrase.
  while (joined.length > 1 && joined.some((phrase) => isOf(1, phrase))) join(1);
  const stumps = (): number => joined.filter((phrase) => isOf(STUMP_NOTES - 1, phrase)).length;
  while (joined.length > 1 && stumps() >= MOST_STUMPS * joined.length) join(STUMP_NOTES - 1);
  return joined;
}

/** Divides a long phrase after its longest inner note, for as long as one stands out. */
function cutLong(phrase: Phrase, steps: readonly number[], usual: number): Phrase[] {
  const { firstNote, lastNote } = phrase;
  if (lastNote - firstNote + 1 <= LONG_PHRASE_NOTES) return [phrase];
  let longest = -1;
  for (let i = firstNote + FEWEST_NOTES - 1; i <= lastNote - FEWEST_NOTES; i++) {
    if (steps[i] >= LONG_NOTE_STEPS * usual && (longest < 0 || steps[i] > steps[longest])) longest = i;
  }
  if (longest < 0) return [phrase];
  return [
    ...cutLong({ firstNote, lastNote: longest }, steps, usual),
    ...cutLong({ firstNote: longest + 1, lastNote }, steps, usual),
  ];
}
