/**
 * Fits the network in src/measure/leak/reed-network.json and prints that file. The takes in the folders of --check are not
 * fitted to, only judged.
 *   npx tsx tests/bench/fit/fit-reeds.ts FOLDER… [--check FOLDER…] > FILE
 */
import { segment } from '../../../src/analysis/notes/decoding/segment.ts';
import type { SoundEvent } from '../../../src/analysis/notes/events.ts';
import { findEvents } from '../../../src/analysis/notes/find-events.ts';
import { harpGlides, harpPitches } from '../../../src/analysis/notes/pitches.ts';
import { analyseFrames } from '../../../src/analysis/pitch/frames.ts';
import { joinFragments } from '../../../src/analysis/playing/fragments.ts';
import { readRecording } from '../../../src/audio/read.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { readHoles } from '../../../src/holes/holes.ts';
import { noteObserver, reedEvidence } from '../../../src/measure/leak/leaks.ts';
import { evidenceOf } from '../../../src/measure/leak/reed-evidence.ts';
import { isSteady, isWeighed } from '../../../src/measure/leak/reed-observations.ts';
import { matchNotes } from '../scores/metrics.ts';
import type { LabelledTake } from '../sets/takes.ts';
import { fitOnFolders } from './fit-folders.ts';
import { type Example, fitNetwork, fittedFile } from './fit-network.ts';

const noPause = async (): Promise<void> => {};
const UNITS = 6;
const RIDGE = 10;
/** As in the benchmark's count of second reeds. */
const MATCH = { offsetRatio: null, onsetToleranceSec: 0.1 };

/** Every reed of a next hole that sounds through most of a note, and whether it is a second reed of that note. */
async function examplesOf(take: LabelledTake): Promise<Example[]> {
  const { samples } = await readRecording(take.path);
  const frames = await analyseFrames(samples, noPause);
  const notes = playableNotes(take.harp);
  const segments = segment(frames, harpPitches(notes));
  const { whole: events } = joinFragments(
    await findEvents(samples, frames, segments, harpGlides(notes), [], noPause),
  );
  const readings = readHoles(events, notes);
  const observed = events.map((_, i) => i).map(noteObserver(samples, events, readings, notes));
  const evidence = reedEvidence(observed, events, readings).take;
  const played = events.map((event, i) => ({ ...spanOf(event), ...readings[i][0].note, f0Hz: event.f0Hz }));
  const truthOf = new Map(matchNotes(take.notes, played, MATCH).map(([r, e]) => [e, take.notes[r]]));
  return evidence.observations.flatMap((observation, i) =>
    observation.reeds
      .filter((reed) => isWeighed(reed) && isSteady(reed))
      .map((reed) => {
        const truth = truthOf.get(i);
        const { hole, breath } = readings[i][0].note;
        const positive =
          truth?.leak?.hole === reed.note.hole && truth.hole === hole && truth.breath === breath;
        return { features: evidenceOf(evidence, i, reed), positive, weight: 1 };
      }),
  );
}

function spanOf({ onsetSec, offsetSec }: SoundEvent): { onsetSec: number; offsetSec: number } {
  return { onsetSec, offsetSec };
}

const { network, set, training, heldOut, date } = await fitOnFolders('reed', examplesOf, (examples) =>
  fitNetwork(examples, UNITS, RIDGE),
);
const card = {
  what: 'reed: log odds that a reed of the next hole sounds along, from evidenceOf (src/measure/leak/reed-evidence.ts)',
  set,
  seed: '1 for the weights (tests/bench/fit/fit-network.ts)',
  script: 'tests/bench/fit/fit-reeds.ts',
  command:
    'npx tsx tests/bench/fit/fit-reeds.ts FOLDER… [--check FOLDER…] > src/measure/leak/reed-network.json',
  training,
  heldOut,
  date,
};
console.log(fittedFile(card, { reed: network }));
