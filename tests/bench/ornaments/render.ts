import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { seededRng } from '../../../samples/synth/rng.ts';
import { roughened } from '../../../samples/synth/scene/roughen.ts';
import { synthesise } from '../../../samples/synth/take.ts';
import type { TruthNote } from '../../../samples/synth/truth.ts';
import { encodeWav } from '../../../samples/synth/wav.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';
import { hasProgram, soundfonts, throughCodec } from '../sets/external.ts';
import { soundfontTake } from '../sets/soundfont.ts';
import { ornamentTakes } from './takes.ts';

/** A take in a file, and what was planted in it. */
export interface RenderedTake {
  readonly path: string;
  readonly source: 'synth' | 'soundfont';
  readonly condition: string;
  readonly harp: HarpSpec;
  readonly notes: readonly TruthNote[];
}

/** Does some work with rendered takes, whose files are there until it is done. */
export async function withOrnaments<T>(
  seed: number,
  rounds: number,
  work: (takes: readonly RenderedTake[]) => Promise<T>,
  broad = false,
): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'reedtrace-ornaments-'));
  try {
    return await work(renderOrnaments(seed, rounds, folder, broad));
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Renders takes with ornaments into a folder: synthesised reeds, and sampled ones where fluidsynth is there. */
function renderOrnaments(seed: number, rounds: number, folder: string, broad: boolean): RenderedTake[] {
  const fonts = hasProgram('fluidsynth') ? soundfonts() : [];
  const ffmpeg = hasProgram('ffmpeg');
  return ornamentTakes(seed, rounds, broad).flatMap(({ spec, source, condition, degradation }) => {
    if (source === 'soundfont' && fonts.length === 0) return [];
    const clean = source === 'soundfont' ? soundfontTake(spec, fonts[0]) : synthesise(spec);
    const take = roughened(clean, degradation, seededRng(spec.seed + 1));
    const { codec } = degradation;
    const samples =
      ffmpeg && codec !== undefined ? throughCodec(take.samples, take.sampleRate, codec) : take.samples;
    const path = join(folder, `${spec.name}.wav`);
    writeFileSync(path, encodeWav([samples], take.sampleRate));
    return [{ path, source, condition, harp: spec.harp, notes: take.truth.notes }];
  });
}
