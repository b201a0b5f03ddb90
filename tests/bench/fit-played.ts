/**
 * Fits the weights in src/analysis/played.ts. Arguments: folders of labelled takes; a folder without truth files
 * holds recordings without playing.
 */
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { findEvents, type SoundEvent } from '../../src/analysis/events.ts';
import { analyseFrames } from '../../src/analysis/frames.ts';
import { anyGlide, chromaticPitches, harpPitches, tuningOffset } from '../../src/analysis/pitches.ts';
import { playedFeatures } from '../../src/analysis/played.ts';
import { segment } from '../../src/analysis/segment.ts';
import { readRecording } from '../../src/audio/read.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import { confusion, type Example, fitLogistic } from './logistic.ts';
import { type LabelledTake, loadTakes } from './takes.ts';

const noPause = async (): Promise<void> => {};
/** Events that are not played are rare in the takes; they weigh more, so that both kinds count. */
const NOT_PLAYED_WEIGHT = 6;

/** Events with the harp known and unknown, as both happen. */
async function hear(path: string, take?: LabelledTake): Promise<SoundEvent[]> {
  const { samples } = await readRecording(path);
  const frames = await analyseFrames(samples, noPause);
  const chromatic = chromaticPitches(tuningOffset(frames));
  const events = await findEvents(samples, frames, segment(frames, chromatic), anyGlide, noPause);
  if (take === undefined) return events;
  const pitches = harpPitches(playableNotes(take.harp));
  return [...events, ...(await findEvents(samples, frames, segment(frames, pitches), anyGlide, noPause))];
}

const names: string[] = [];
const examples: Example[] = [];
function add(event: SoundEvent, positive: boolean): void {
  const features = playedFeatures(event);
  if (names.length === 0) names.push(...Object.keys(features));
  examples.push({ features: Object.values(features), positive, weight: positive ? 1 : NOT_PLAYED_WEIGHT });
}

for (const folder of process.argv.slice(2)) {
  const takes = loadTakes(folder);
  for (const take of takes) {
    for (const event of await hear(take.path, take)) {
      const during = take.notes.filter(
        (note) => note.onsetSec < event.offsetSec && note.offsetSec > event.onsetSec,
      );
      const same = during.some((note) => Math.abs(12 * Math.log2(note.f0Hz / event.f0Hz)) < 0.8);
      if (same || during.length === 0) add(event, same);
    }
  }
  if (takes.length > 0) continue;
  for (const name of readdirSync(folder))
    for (const event of await hear(join(folder, name))) add(event, false);
}

const weights = fitLogistic(examples);
console.log(Object.fromEntries([...names, 'bias'].map((name, i) => [name, Number(weights[i].toFixed(2))])));
const positives = examples.filter(({ positive }) => positive).length;
console.log(`${positives} played, ${examples.length - positives} not`, confusion(examples, weights));
