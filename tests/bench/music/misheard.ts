import type { Rng } from '../../../samples/synth/rng.ts';
import type { HeardTake } from './heard-tunes.ts';
import type { ScoreTake } from './score-takes.ts';

/*
 * How takes are heard, measured by 299 takes of folk tunes rendered in three scenes (`heard-tunes.ts`) against what was planned:
 * onsets lie 15 to 30 ms off in the quiet room and 18 to 39 ms by telephone (as slow attacks are, too), independently of each
 * other; of notes under 0.1 s 18 % are missed, under 0.2 s 3 %, of longer ones 0.3 %, most of them in a few takes; over 58 % of
 * those the note before goes on; 0.35 % of notes were not played, two in five of them a piece of their neighbour.
 */
const JITTER_SEC = [0.006, 0.036] as const;
/** Of a note under 0.1 s, under 0.2 s, and longer, in a take of usual care; and the most of any. */
const MISSED = { under100ms: 0.18, under200ms: 0.03, longer: 0.003, most: 0.6 };
const COVERED = 0.58;
const EXTRA = 0.0035;
const EXTRA_OF_NEIGHBOUR = 0.4;
/** Shortest note that is heard, and the least time between two. */
const SHORTEST_SEC = 0.04;

/** What an ear that misses, splits and moves notes may hear of a take; costs next to nothing beside rendering and transcribing it. */
export function misheard({ notes, inBarTicks }: ScoreTake, rng: Rng): HeardTake {
  const jitterSec = rng.between(JITTER_SEC);
  // Mean 1: most takes lose little, a few much.
  const careless = -Math.log(1 - rng.between([0, 0.98]));
  const heard: { onsetSec: number; offsetSec: number; midi: number }[] = [];
  const places: (number | null)[] = [];
  for (const [i, { onsetSec, offsetSec, midi }] of notes.entries()) {
    const lengthSec = (notes[i + 1]?.onsetSec ?? offsetSec) - onsetSec;
    const usual = lengthSec < 0.1 ? MISSED.under100ms : lengthSec < 0.2 ? MISSED.under200ms : MISSED.longer;
    const before = heard[heard.length - 1];
    if (i > 0 && rng.chance(Math.min(MISSED.most, usual * careless))) {
      if (rng.chance(COVERED)) before.offsetSec = offsetSec;
      continue;
    }
    const earliest = i === 0 ? 0 : before.onsetSec + SHORTEST_SEC;
    const onset = Math.max(earliest, onsetSec + rng.normal() * jitterSec);
    if (before !== undefined) before.offsetSec = Math.min(before.offsetSec, onset);
    const offset = Math.max(onset + SHORTEST_SEC, offsetSec + rng.normal() * jitterSec);
    heard.push({ onsetSec: onset, offsetSec: offset, midi });
    places.push(inBarTicks[i]);
    if (lengthSec > 4 * SHORTEST_SEC && rng.chance(EXTRA)) {
      const splitSec = onset + (offset - onset) * rng.between([0.3, 0.7]);
      heard[heard.length - 1].offsetSec = splitSec;
      const other = midi + (rng.chance(EXTRA_OF_NEIGHBOUR) ? 0 : rng.chance(0.5) ? 2 : -2);
      heard.push({ onsetSec: splitSec, offsetSec: offset, midi: other });
      places.push(null);
    }
  }
  return { notes: heard, inBarTicks: places };
}
