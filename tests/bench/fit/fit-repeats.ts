/**
 * Fits the network in src/analysis/notes/rearticulation/rearticulation-network.json and prints that file. The takes in the folders
 * of --check are not fitted to, only judged.
 *   npx tsx tests/bench/fit/fit-repeats.ts FOLDER… [--check FOLDER…] > FILE
 */
import { pitchContour } from '../../../src/analysis/notes/contour.ts';
import { harpGlides } from '../../../src/analysis/notes/pitches.ts';
import { placeOnsets } from '../../../src/analysis/notes/place-onsets.ts';
import { findDips, networkInputs } from '../../../src/analysis/notes/rearticulation/dips.ts';
import { PartialLevel, TICK_SEC } from '../../../src/analysis/pitch/partial-level.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { hzToMidi } from '../../../src/units.ts';
import { hearSegments } from '../hear.ts';
import type { LabelledTake } from '../sets/takes.ts';
import { fitOnFolders } from './fit-folders.ts';
import { type Example, fitNetwork, fittedFile } from './fit-network.ts';

/** A dip this near to a repeat of the truth is that repeat; others within the wider range are left out, in seconds. */
const SAME_SEC = 0.045;
const DOUBTFUL_SEC = 0.06;

const UNITS = 16;
const RIDGE = 30;

async function examplesOf(take: LabelledTake): Promise<Example[]> {
  const examples: Example[] = [];
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
  return examples;
}

const { network, set, training, heldOut, date } = await fitOnFolders(
  'rearticulation',
  examplesOf,
  (examples) => fitNetwork(examples, UNITS, RIDGE),
);
const card = {
  what: 'rearticulation: log odds that a dip is the same note struck again, from networkInputs (src/analysis/notes/rearticulation/dips.ts)',
  set,
  seed: '1 for the weights (tests/bench/fit/fit-network.ts)',
  script: 'tests/bench/fit/fit-repeats.ts',
  command:
    'npx tsx tests/bench/fit/fit-repeats.ts FOLDER… [--check FOLDER…] > src/analysis/notes/rearticulation/rearticulation-network.json',
  training,
  heldOut,
  date,
};
console.log(fittedFile(card, { rearticulation: network }));
