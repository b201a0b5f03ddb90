/**
 * Fits the network in src/analysis/playing/played-network.json and prints that file. A folder without truth files holds
 * recordings without playing; what is in the folders of --check is not fitted to, only judged.
 *   npx tsx tests/bench/fit/fit-played.ts FOLDER… [--check FOLDER…] > FILE
 */
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { segment } from '../../../src/analysis/notes/decoding/segment.ts';
import type { SoundEvent } from '../../../src/analysis/notes/events.ts';
import { findEvents } from '../../../src/analysis/notes/find-events.ts';
import { anyGlide, chromaticPitches, harpPitches } from '../../../src/analysis/notes/pitches.ts';
import { analyseFrames, tuningOffset } from '../../../src/analysis/pitch/frames.ts';
import { eventFeatures } from '../../../src/analysis/playing/played.ts';
import { readRecording } from '../../../src/audio/read.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { hzToMidi } from '../../../src/units.ts';
import { type LabelledTake, loadTakes } from '../sets/takes.ts';
import { type Example, fitNetwork, fittedFile, heldOut, mistakesOf, rounded, today } from './fit-network.ts';

const noPause = async (): Promise<void> => {};
/** What isn't played is rare in the takes, so it gets more weight. */
const TALK_WEIGHT = 6;
const UNITS = 4;
const RIDGE = 3;

/** Events with the harp known and unknown, as both happen. */
async function hear(path: string, take?: LabelledTake): Promise<SoundEvent[][]> {
  const { samples } = await readRecording(path);
  const frames = await analyseFrames(samples, noPause);
  const chromatic = chromaticPitches(tuningOffset(frames));
  const events = await findEvents(samples, frames, segment(frames, chromatic), anyGlide, [], noPause);
  if (take === undefined) return [events];
  const pitches = harpPitches(playableNotes(take.harp));
  return [events, await findEvents(samples, frames, segment(frames, pitches), anyGlide, [], noPause)];
}

interface Span {
  readonly onsetSec: number;
  readonly offsetSec: number;
}
function overlapSec(a: Span, b: Span): number {
  return Math.min(a.offsetSec, b.offsetSec) - Math.max(a.onsetSec, b.onsetSec);
}

/** The event of the note's pitch that lasts longest within it. */
function mainEvent(
  events: readonly SoundEvent[],
  note: Span & { readonly f0Hz: number },
): SoundEvent | undefined {
  return events
    .filter((event) => Math.abs(hzToMidi(note.f0Hz) - event.midi) < 0.8 && overlapSec(event, note) > 0)
    .sort((a, b) => overlapSec(b, note) - overlapSec(a, note))[0];
}

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { check: { type: 'string', multiple: true, default: [] } },
});

/**
 * Of takes, notes against what sounds where nothing is played; an event within a note that isn't its main one is left
 * out.
 */
async function examplesIn(folders: readonly string[]): Promise<Example[]> {
  const examples: Example[] = [];
  const add = (event: SoundEvent, positive: boolean): void => {
    examples.push({ features: eventFeatures(event), positive, weight: positive ? 1 : TALK_WEIGHT });
  };
  for (const folder of folders) {
    const takes = loadTakes(folder);
    for (const take of takes) {
      for (const events of await hear(take.path, take)) {
        const whole = new Set(take.notes.map((note) => mainEvent(events, note)));
        for (const event of events) {
          if (whole.has(event)) add(event, true);
          else if (!take.notes.some((note) => overlapSec(event, note) > 0)) add(event, false);
        }
      }
    }
    if (takes.length > 0) continue;
    for (const name of readdirSync(folder))
      for (const event of (await hear(join(folder, name))).flat()) add(event, false);
  }
  return examples;
}

const examples = await examplesIn(positionals);
const played = rounded(fitNetwork(examples, UNITS, RIDGE));
const card = {
  what: 'played: log odds of playing against talk, from eventFeatures (src/analysis/playing/played.ts)',
  set: positionals.join(', '),
  seed: '1 for the weights (tests/bench/fit/fit-network.ts)',
  script: 'tests/bench/fit/fit-played.ts',
  command:
    'npx tsx tests/bench/fit/fit-played.ts FOLDER… [--check FOLDER…] > src/analysis/playing/played-network.json',
  training: mistakesOf(played, examples),
  heldOut: await heldOut(values.check, async (folder) => mistakesOf(played, await examplesIn([folder]))),
  date: today(),
};
console.log(fittedFile(card, { played }));
