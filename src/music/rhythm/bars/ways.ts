import { median } from '../../../statistics.ts';
import { breakStrengths } from '../../breaks.ts';
import { type AccentedNote, levelAccents } from '../accents.ts';
import type { BarredReading } from '../confidence.ts';
import type { HeardOnset, PlanPrior } from '../metrical-hmm.ts';
import { readOnGrids } from '../metrical-hmm.ts';
import { bestOfPulses, type Reading, timesScore } from '../pulses.ts';
import type { TempoOptions } from '../tempo.ts';
import { type PickupOptions, placeBars } from './bar-lines.ts';
import { BarJudge } from './bar-network.ts';
import { dottedPlans, withDottedPairs } from './dotted-pairs.ts';
import { type Heard, phraseBreaks, repeatsOf, WAY_FEATURES, wayFeatures } from './way-features.ts';
import { WAY_WEIGHTS } from './way-weights.ts';

/** How many of the likeliest ways of `placeBars` are weighed again. */
const MOST_WAYS = 40;
/** How many of those, the likeliest by features of the whole tune, the network judges note by note; it was fitted to as many. */
const JUDGED_WAYS = 20;

/** A note is long if it lasts this many times the median. */
const LONG_STEPS = 1.6;

/** The ways in which notes may be written with bars, and the likeliest reading without bars. */
export interface Ways {
  readonly ways: readonly WeighedWay[];
  readonly plainest: Reading;
}

export interface WeighedWay extends BarredReading {
  readonly features: Float64Array;
  /** First notes of its repeats. */
  readonly repeats: readonly number[];
}

/**
 * The likeliest ways to write the notes. Their lengths are read on every plan (`readOnGrids`), each pulse is given bar
 * lines (`placeBars`), and all of these are weighed by features of the whole tune (`wayFeatures`) and by how each note sits
 * in its bar (`BarJudge`).
 * @param byNetwork  false leaves the network out, for fitting it
 */
export function findWays(
  notes: readonly AccentedNote[],
  plans: readonly PlanPrior[],
  given: TempoOptions & PickupOptions,
  byNetwork = true,
): Ways {
  const onsets = notes.map(({ onsetSec, restSec }): HeardOnset => ({ onsetSec, restSec }));
  const paths = readOnGrids(onsets, plans, given);
  const readings = plans.flatMap(({ plan, logPrior }, i): Reading[] => {
    const path = paths[i];
    return path === null ? [] : [{ plan, path, score: path.logLik + logPrior }];
  });
  const pitches = notes.flatMap(({ midi }) => (midi === undefined ? [] : [Math.round(midi)]));
  const strengths = breakStrengths(notes);
  const accents = levelAccents(notes, strengths);
  const forDotted = dottedPlans(plans);
  const pulses = bestOfPulses(onsets, readings);
  const ways = pulses.flatMap((found) => {
    const dotted = forDotted.length > 0 ? withDottedPairs(onsets, found) : null;
    const read = dotted === null ? found : { ...found, plan: forDotted[0].plan, path: dotted };
    const times = timesScore(onsets, read.path);
    const fitting = dotted === null ? plans : forDotted;
    return placeBars({ onsets, accents, strengths }, read.path, fitting, pitches, given).map(
      (barred): BarredReading => ({ read, barred, score: times + barred.score }),
    );
  });
  const lengths = notes.map((note, i) => (notes[i + 1]?.onsetSec ?? note.offsetSec) - note.onsetSec);
  const usualSec = median(lengths);
  const longNotes = lengths.flatMap((sec, n) => (sec >= LONG_STEPS * usualSec ? [n] : []));
  const breaks = phraseBreaks(strengths);
  const heard: Heard = { onsets, strengths, accents, pitches, lengths, usualSec, longNotes, breaks };
  const hasPitches = byNetwork && pitches.length === notes.length && notes.length > 1;
  const judge = hasPitches
    ? new BarJudge(notes.map((note, i) => ({ ...note, midi: pitches[i], strength: strengths[i] })))
    : null;
  const weighed = likeliest(ways).map((way): WeighedWay => {
    const repeats = repeatsOf(heard, way.barred);
    const features = wayFeatures(heard, way, repeats);
    return { ...way, features, repeats: repeats.starts, score: weighted(features) };
  });
  if (judge === null) return { ways: weighed, plainest: pulses[0] };
  const judged = weighed
    .toSorted((a, b) => b.score - a.score)
    .slice(0, JUDGED_WAYS)
    .map((way) => ({ ...way, score: way.score + judge.score(way.barred, way.features, way.repeats) }));
  return { ways: judged, plainest: pulses[0] };
}

/** The likeliest ways; of those that are written alike only one. */
function likeliest(ways: readonly BarredReading[]): BarredReading[] {
  const seen = new Set<string>();
  const kept: BarredReading[] = [];
  for (const way of ways.toSorted((a, b) => b.score - a.score)) {
    const { plan, atTicks } = way.barred;
    const key = `${plan.metre.count}/${plan.metre.unit} ${atTicks.join(' ')}`;
    if (seen.has(key)) continue;
    seen.add(key);
    kept.push(way);
    if (kept.length === MOST_WAYS) break;
  }
  return kept;
}

function weighted(features: Float64Array): number {
  return WAY_FEATURES.reduce((sum, name, i) => sum + features[i] * WAY_WEIGHTS[name], 0);
}
