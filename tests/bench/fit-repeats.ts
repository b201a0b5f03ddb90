/** Fits the weights in src/analysis/repeats.ts. Arguments: folders of labelled takes. */
import { pitchContour } from '../../src/analysis/contour.ts';
import { OwnLevel, TICK_SEC } from '../../src/analysis/own-level.ts';
import { type DipFeatures, findDips } from '../../src/analysis/repeats.ts';
import { hzToMidi } from '../../src/units.ts';
import { hearSegments } from './hear.ts';
import { confusion, type Example, fitLogistic } from './logistic.ts';
import { type LabelledTake, loadTakes } from './takes.ts';

/** A dip this near to a repeat of the truth is that repeat; others within the wider range are left out, in seconds. */
const SAME_SEC = 0.045;
const DOUBTFUL_SEC = 0.06;

const RIDGE = 20;

const NAMES = ['rise', 'fall', 'wobbleMedian', 'wobbleHigh', 'changeMedian', 'changeHigh'] as const;
const examples: Example[] = [];

async function addTake(take: LabelledTake): Promise<void> {
  const { samples, frames, segments } = await hearSegments(take);
  const own = new OwnLevel(samples);
  const ticks = Math.round(frames.hopSec / TICK_SEC);
  for (const { midi, fromFrame, toFrame } of segments) {
    const fromTick = fromFrame * ticks;
    const track = own.follow(fromTick, pitchContour(frames, midi, fromTick, toFrame * ticks));
    const isHere = (hz: number): boolean => Math.abs(hzToMidi(hz) - midi) < 0.8;
    const inside = take.notes.filter(({ onsetSec }) => onsetSec > fromTick * TICK_SEC + 0.04);
    const repeats = inside.filter(({ f0Hz }) => isHere(f0Hz)).map(({ onsetSec }) => onsetSec);
    const next = inside.find(({ f0Hz }) => !isHere(f0Hz))?.onsetSec ?? Number.POSITIVE_INFINITY;
    for (const { tick, features } of findDips(track)) {
      const sec = (fromTick + tick) * TICK_SEC;
      if (sec > next - SAME_SEC) continue;
      const nearest = Math.min(...repeats.map((onsetSec) => Math.abs(onsetSec - sec)));
      if (nearest > SAME_SEC && nearest < DOUBTFUL_SEC) continue;
      examples.push({ features: flat(features), positive: nearest <= SAME_SEC, weight: 1 });
    }
  }
}

/** The features in the order of NAMES, then both courses. */
function flat(features: DipFeatures): number[] {
  return [...NAMES.map((name) => features[name]), ...features.level, ...features.change];
}

for (const folder of process.argv.slice(2)) for (const take of loadTakes(folder)) await addTake(take);
const weights = fitLogistic(examples, RIDGE);
const rounded = weights.map((weight) => Number(weight.toFixed(3)));
const courses = rounded.slice(NAMES.length, -1);
console.log({
  bias: rounded.at(-1),
  ...Object.fromEntries(NAMES.map((name, i) => [name, rounded[i]])),
  level: courses.slice(0, courses.length / 2).join(', '),
  change: courses.slice(courses.length / 2).join(', '),
});
const positives = examples.filter(({ positive }) => positive).length;
console.log(`${positives} repeats, ${examples.length - positives} other dips`, confusion(examples, weights));
