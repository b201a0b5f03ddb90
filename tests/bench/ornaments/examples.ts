import { FinePitchMeter } from '../../../src/analysis/pitch/fine-pitch.ts';
import { readRecording } from '../../../src/audio/read.ts';
import type { SmallNetwork } from '../../../src/decode/small-network.ts';
import { findHeld } from '../../../src/measure/held.ts';
import { BandMeter } from '../../../src/measure/ornaments/bands.ts';
import { hearMoves, LEAST_WAVES_SEC } from '../../../src/measure/ornaments/ornaments.ts';
import { withTail } from '../../../src/measure/ornaments/tail.ts';
import { hearPlaying } from '../../../src/pipeline.ts';
import { type Example, mistakesOf } from '../fit/fit-network.ts';
import { type RenderedTake, withOrnaments } from './render.ts';
import { isNamed, mostOverlapped } from './score.ts';

/** What the networks of `src/measure/ornaments/level-network.json` tell. */
export const LEVEL_KINDS = ['tremolo', 'hand'] as const;
type ByKind<T> = Readonly<Record<(typeof LEVEL_KINDS)[number], T>>;
export type LevelExamples = ByKind<Example[]>;

/** What is heard of each note that is long enough, by kind whether that was planted, in takes rendered for these seeds. */
export async function levelExamples(
  seeds: readonly number[],
  rounds: number,
  broad = false,
): Promise<LevelExamples> {
  const all: LevelExamples = { tremolo: [], hand: [] };
  const add = async (takes: readonly RenderedTake[]): Promise<void> => {
    for (const take of takes) await addExamples(all, take);
  };
  for (const seed of seeds) await withOrnaments(seed, rounds, add, broad);
  return all;
}

async function addExamples(all: LevelExamples, { path, harp, notes }: RenderedTake): Promise<void> {
  const { samples } = await readRecording(path);
  const { key, ...named } = harp;
  const { events } = await hearPlaying(samples, { ...named, harp: key });
  const bands = new BandMeter(samples);
  const meter = new FinePitchMeter(samples);
  events.forEach((event, i) => {
    const pitch = findHeld(event);
    const truth = mostOverlapped(event, notes);
    if (pitch === null || event.set !== undefined || truth === null) return;
    if (event.offsetSec - event.onsetSec < LEAST_WAVES_SEC) return;
    const next = events[i + 1];
    const contourMidi = withTail(meter, event, next, pitch.midi);
    const { moves } = hearMoves(event, next, pitch, bands.measure(event), contourMidi);
    if (moves === null) return;
    const named = (truth.ornaments ?? []).filter(isNamed);
    for (const kind of LEVEL_KINDS) {
      const positive = named.some((one) => one.kind === kind);
      all[kind].push({ features: moves.evidence(), positive, weight: 1 });
    }
  });
}

/** How the networks do, in words. */
export const levelFigures = (networks: ByKind<SmallNetwork>, examples: LevelExamples): string =>
  LEVEL_KINDS.map((kind) => `${kind}: ${mistakesOf(networks[kind], examples[kind])}`).join('; ');

/** The takes of a seed that nothing was chosen on, for the card and for `npm run held-out`. */
export const HELD_OUT_ROUNDS = 8;
