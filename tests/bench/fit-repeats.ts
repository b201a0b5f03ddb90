/** Fits src/analysis/repeat-network.ts and prints it. Arguments: folders of labelled takes. */
import { pitchContour } from '../../src/analysis/contour.ts';
import { OwnLevel, TICK_SEC } from '../../src/analysis/own-level.ts';
import { findDips, networkInputs } from '../../src/analysis/repeats.ts';
import { hzToMidi } from '../../src/units.ts';
import { type Example, fitNetwork, mistakesOf, SOURCE_HEAD, sourceOf } from './fit-network.ts';
import { hearSegments } from './hear.ts';

import { type LabelledTake, loadTakes } from './takes.ts';

/** A dip this near to a repeat of the truth is that repeat; others within the wider range are left out, in seconds. */
const SAME_SEC = 0.045;
const DOUBTFUL_SEC = 0.06;

const UNITS = 8;
const RIDGE = 15;
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
      examples.push({ features: networkInputs(features), positive: nearest <= SAME_SEC, weight: 1 });
    }
  }
}

for (const folder of process.argv.slice(2)) for (const take of loadTakes(folder)) await addTake(take);
const network = fitNetwork(examples, UNITS, RIDGE);
const docstring =
  'By tests/bench/fit-repeats.ts on the development takes; the inputs are those of networkInputs (repeats).';
console.log(SOURCE_HEAD, sourceOf('REPEAT_NETWORK', docstring, network));
console.error(mistakesOf(network, examples));
