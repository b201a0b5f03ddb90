/**
 * Fits the weights of src/analysis/notes/find-octaves.ts and prints them: how surely the reed an octave above a note
 * sounds too.
 *   npx tsx tests/bench/fit/fit-octaves.ts --seed N… --real FOLDER… [--check N…]
 * The octaves and single notes are those of made takes with several holes, and of the recordings of players to develop on (of
 * which none holds an octave by itself). The seeds of --check are not fitted to, only judged.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { segment } from '../../../src/analysis/notes/decoding/segment.ts';
import { findEvents } from '../../../src/analysis/notes/find-events.ts';
import { octaveFeatures } from '../../../src/analysis/notes/find-octaves.ts';
import { harpGlides, harpPitches, reedSets } from '../../../src/analysis/notes/pitches.ts';
import { analyseFrames } from '../../../src/analysis/pitch/frames.ts';
import { readRecording } from '../../../src/audio/read.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';
import { hzToMidi, midiToHz } from '../../../src/units.ts';
import { noPause } from '../hear.ts';
import { clipsIn, loadRealLabels } from '../real/real-labels.ts';
import { madeTakes } from '../together/report.ts';
import { type Example, fitNetwork, mistakesOf, rounded } from './fit-network.ts';

const LABELS = fileURLToPath(new URL('../../real', import.meta.url));
const RIDGE = 3;
const SAME_SEC = 0.06;
const SAME_PITCH = 0.5;
const OCTAVE = 12;

/** A note of the truth: its lowest pitch, and whether the octave sounds too; null if neither applies. */
interface Truth {
  readonly onsetSec: number;
  readonly midi: number;
  readonly octave: boolean | null;
}

async function examplesOf(path: string, harp: HarpSpec | null, truth: readonly Truth[]): Promise<Example[]> {
  const { samples } = await readRecording(path);
  const frames = await analyseFrames(samples, noPause);
  const notes = playableNotes(
    harp ?? {
      key: 'C',
      tuning: 'richter',
      temperament: 'equal',
      a4Hz: midiToHz(69 + frames.evidence.offset),
    },
  );
  const sets = reedSets(notes);
  const segments = segment(frames, harpPitches(notes), sets);
  const events = await findEvents(samples, frames, segments, harpGlides(notes), sets, noPause);
  return events.flatMap((event) => {
    const lowest = event.set?.midis[0] ?? event.expectedMidi;
    const here = truth.find(
      ({ onsetSec, midi }) =>
        Math.abs(onsetSec - event.onsetSec) < SAME_SEC && Math.abs(midi - lowest) < SAME_PITCH,
    );
    if (here === undefined || here.octave === null) return [];
    const features = octaveFeatures(samples, event, frames, lowest + OCTAVE);
    return [{ features, positive: here.octave, weight: 1 }];
  });
}

async function made(seed: number): Promise<Example[]> {
  const folder = mkdtempSync(join(tmpdir(), 'reedtrace-octaves-'));
  try {
    const examples: Example[] = [];
    for (const { path, harp, events, groups } of madeTakes(folder, seed, 1)) {
      if (!groups.includes('octaves') && !groups.includes('mixed')) continue;
      const pitches = playableNotes(harp);
      const midiOf = (hole: number, breath: string): number => {
        const reed = pitches.find((note) => note.hole === hole && note.breath === breath && note.bend === 0);
        return reed === undefined ? Number.NaN : hzToMidi(reed.f0Hz);
      };
      const truth = events.map(({ onsetSec, hole, holes = [hole], breath, bend }): Truth => {
        const [low, high] = [midiOf(holes[0], breath), midiOf(holes[holes.length - 1], breath)];
        const octave = holes.length === 2 && Math.abs(high - low - OCTAVE) < SAME_PITCH;
        return { onsetSec, midi: low - bend, octave: holes.length === 1 ? false : octave ? true : null };
      });
      examples.push(...(await examplesOf(path, harp, truth)));
    }
    return examples;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function recorded(folders: readonly string[]): Promise<Example[]> {
  const examples: Example[] = [];
  for (const { label, path } of clipsIn(folders, loadRealLabels(LABELS))) {
    if (label.use !== 'develop' || label.harpKey === null) continue;
    const truth = label.notes.map(({ onsetSec, nominalMidi, kind, sure }): Truth => {
      return { onsetSec, midi: nominalMidi, octave: kind === 'single' && sure ? false : null };
    });
    const harp = { key: label.harpKey, tuning: 'richter', temperament: 'equal', a4Hz: 440 };
    examples.push(...(await examplesOf(path, harp, truth)));
  }
  return examples;
}

const { values } = parseArgs({
  options: {
    seed: { type: 'string', multiple: true, default: [] },
    check: { type: 'string', multiple: true, default: [] },
    real: { type: 'string', multiple: true, default: [] },
  },
});
const seeds = async (numbers: readonly string[]): Promise<Example[]> =>
  (await Promise.all(numbers.map((seed) => made(Number(seed))))).flat();
const recordings = await recorded(values.real);
const examples = [...(await seeds(values.seed)), ...recordings];
const network = rounded(fitNetwork(examples, 0, RIDGE));
const tell = (name: string, some: readonly Example[]): void => {
  const octaves = some.filter(({ positive }) => positive).length;
  console.log(
    `${name}: ${octaves} octaves, ${some.length - octaves} single notes, ${mistakesOf(network, some)}`,
  );
};
console.log(JSON.stringify(network));
tell('fitted to', examples);
tell('recordings', recordings);
if (values.check.length > 0) tell('not fitted to', await seeds(values.check));
