import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { seededRng } from '../../../samples/synth/rng.ts';
import { roughened } from '../../../samples/synth/scene/roughen.ts';
import { synthesise } from '../../../samples/synth/take.ts';
import { encodeWav } from '../../../samples/synth/wav.ts';
import { textTable } from '../scores/table.ts';
import { CONDITIONS } from '../sets/conditions.ts';
import { hasProgram, soundfonts, throughCodec } from '../sets/external.ts';
import { soundfontTake } from '../sets/soundfont.ts';
import type { Job, JobResult } from '../worker.ts';
import { addOrnaments, type OrnamentScore, PLANTED_KINDS, scoreOrnaments } from './score.ts';
import { ornamentTakes } from './takes.ts';

type Run = (jobs: readonly Job[]) => Promise<JobResult[]>;

/** Scores ornaments planted in rendered takes, harp given: synthesised reeds, and sampled ones where fluidsynth is there. */
export async function ornamentReport(
  seed: number,
  rounds: number,
  job: Omit<Job, 'path' | 'harp'>,
  run: Run,
): Promise<string> {
  const folder = mkdtempSync(join(tmpdir(), 'reedtrace-ornaments-'));
  const fonts = hasProgram('fluidsynth') ? soundfonts() : [];
  const ffmpeg = hasProgram('ffmpeg');
  try {
    const takes = ornamentTakes(seed, rounds).flatMap(({ spec, source, condition, degradation }) => {
      if (source === 'soundfont' && fonts.length === 0) return [];
      const clean = source === 'soundfont' ? soundfontTake(spec, fonts[0]) : synthesise(spec);
      const take = roughened(clean, degradation, seededRng(spec.seed + 1));
      const { codec } = degradation;
      const samples =
        ffmpeg && codec !== undefined ? throughCodec(take.samples, take.sampleRate, codec) : take.samples;
      const path = join(folder, `${spec.name}.wav`);
      writeFileSync(path, encodeWav([samples], take.sampleRate));
      return [{ path, groups: [source, condition, 'all'], harp: spec.harp, notes: take.truth.notes }];
    });
    const heard = await run(takes.map(({ path, harp }) => ({ ...job, path, harp })));
    const scores = takes.map(({ notes }, i) => scoreOrnaments(notes, heard[i].notes));
    const rows = ['synth', 'soundfont', ...CONDITIONS, 'all'].flatMap((group) => {
      const part = scores.filter((_, i) => takes[i].groups.includes(group));
      return part.length === 0 ? [] : rowsOf(group, addOrnaments(part));
    });
    return textTable([HEAD, ...rows]);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

const HEAD = [
  'takes',
  'ornament',
  'planted',
  'recall',
  'precision',
  'per 100 plain notes',
  'measured against planted (10th, 50th, 90th of 100)',
];

function rowsOf(group: string, { plain, kinds }: OrnamentScore): string[][] {
  return PLANTED_KINDS.map((kind) => {
    const { planted, found, wrong, onPlain, ratios } = kinds[kind];
    const share = (count: number, of: number): string => (of === 0 ? '-' : (count / of).toFixed(2));
    const sorted = ratios.toSorted((a, b) => a - b);
    const at = (rank: number): string => sorted[Math.floor(rank * (sorted.length - 1))]?.toFixed(2) ?? '-';
    return [
      group,
      kind,
      String(planted),
      share(found, planted),
      share(found, found + wrong),
      plain === 0 ? '-' : ((100 * onPlain) / plain).toFixed(1),
      `${at(0.1)}, ${at(0.5)}, ${at(0.9)}`,
    ];
  });
}
