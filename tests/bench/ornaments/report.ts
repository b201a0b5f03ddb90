import { textTable } from '../scores/table.ts';
import { CONDITIONS } from '../sets/conditions.ts';
import type { Job, JobResult } from '../worker.ts';
import { withOrnaments } from './render.ts';
import { addOrnaments, type OrnamentScore, PLANTED_KINDS, scoreOrnaments } from './score.ts';

type Run = (jobs: readonly Job[]) => Promise<JobResult[]>;

/** Scores ornaments planted in rendered takes, harp given: synthesised reeds, and sampled ones where fluidsynth is there. */
export async function ornamentReport(
  seed: number,
  rounds: number,
  job: Omit<Job, 'path' | 'harp'>,
  run: Run,
): Promise<string> {
  return withOrnaments(seed, rounds, async (takes) => {
    const heard = await run(takes.map(({ path, harp }) => ({ ...job, path, harp })));
    const scores = takes.map(({ notes }, i) => scoreOrnaments(notes, heard[i].notes));
    const rows = ['synth', 'soundfont', ...CONDITIONS, 'all'].flatMap((group) => {
      const part = scores.filter((_, i) => [takes[i].source, takes[i].condition, 'all'].includes(group));
      return part.length === 0 ? [] : rowsOf(group, addOrnaments(part));
    });
    return textTable([HEAD, ...rows]);
  });
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
