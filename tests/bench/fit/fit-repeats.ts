/** Fits src/analysis/notes/rearticulation/rearticulation-network.ts and prints it. Arguments: folders of labelled takes. */
import { pitchContour } from '../../../src/analysis/notes/contour.ts';
import { harpGlides } from '../../../src/analysis/notes/pitches.ts';
import { placeOnsets } from '../../../src/analysis/notes/place-onsets.ts';
import { findDips, networkInputs } from '../../../src/analysis/notes/rearticulation/dips.ts';
import { PartialLevel, TICK_SEC } from '../../../src/analysis/pitch/partial-level.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { hzToMidi } from '../../../src/units.ts';
import { hearSegments } from '../hear.ts';
import { type LabelledTake, loadTakes } from '../sets/takes.ts';
import { type Example, fitNetwork, mistakesOf, SOURCE_HEAD, sourceOf } from './fit-network.ts';

/** A dip this near to a repeat of the truth is that repeat; others within the wider range are left out, in seconds. */
const SAME_SEC = 0.045;
const DOUBTFUL_SEC = 0.06;

const UNITS = 16;
const RIDGE = 30;
const examples: Example[] = [];

async function addTake(take: LabelledTake): Promise<void> {
  const { samples, frames, segments } = await hearSegments(take);
  const own = new PartialLevel(samples);
  const canGlide = harpGlides(playableNotes(take.harp));
  for (const { midi, fromTick, toTick } of placeOnsets(frames, own, segments, canGlide)) {
    const contour = pitchContour(frames, midi, fromTick, toTick);
    const track = own.follow(fromTick, contour);
    const isHere = (hz: number): boolean => Math.abs(hzToMidi(hz) - midi) < 0.8;
    const inside = take.notes.filter(({ onsetSec }) => onsetSec > fromTick * TICK_SEC + 0.04);
    const repeats = inside.filter(({ f0Hz }) => isHere(f0Hz)).map(({ onsetSec }) => onsetSec);
    const next = inside.find(({ f0Hz }) => !isHere(f0Hz))?.onsetSec ?? Number.POSITIVE_INFINITY;
    // Where a note of another pitch was missed, what follows is not of this one.
    const missed = next < toTick * TICK_SEC - DOUBTFUL_SEC;
    for (const { tick, features } of findDips(track, contour)) {
      const sec = (fromTick + tick) * TICK_SEC;
      if (missed && sec > next - SAME_SEC) continue;
      const nearest = Math.min(...repeats.map((onsetSec) => Math.abs(onsetSec - sec)));
      if (nearest > SAME_SEC && nearest < DOUBTFUL_SEC) continue;
      examples.push({ features: networkInputs(features), positive: nearest <= SAME_SEC, weight: 1 });
    }
  }
}

for (const folder of process.argv.slice(2)) for (const take of loadTakes(folder)) await addTake(take);
const network = fitNetwork(examples, UNITS, RIDGE);
const docstring =
  'By tests/bench/fit/fit-repeats.ts on the development takes; the inputs are those of networkInputs (rearticulation).';
console.log(SOURCE_HEAD, sourceOf('REARTICULATION_NETWORK', docstring, network));
console.error(mistakesOf(network, examples));
