import { ornamentsOf } from '../../../src/tab/ornament.ts';
import { textTable } from '../scores/table.ts';
import { CONDITIONS } from '../sets/conditions.ts';
import { loadTakes } from '../sets/takes.ts';
import type { Job, JobResult } from '../worker.ts';
import { withOrnaments } from './render.ts';
import { addOrnaments, type HeardNote, type OrnamentScore, PLANTED_KINDS, scoreOrnaments } from './score.ts';

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

/**
 * Counts the ornaments that are reported in labelled takes, harp given, by kind of take. Their truth names none: what style alone
 * gives a note (a scoop or a vibrato in a ballad) counts as well.
 */
export async function reportedOrnaments(
  folders: readonly string[],
  job: Omit<Job, 'path' | 'harp'>,
  run: Run,
): Promise<string> {
  const takes = folders.flatMap(loadTakes);
  const heard = await run(takes.map(({ path, harp }) => ({ ...job, path, harp })));
  const groups = [...new Set(takes.map(({ category }) => category)), 'all'];
  const rows = groups.map((group) => {
    const notes = heard.flatMap((one, i): readonly HeardNote[] =>
      [takes[i].category, 'all'].includes(group) ? one.notes : [],
    );
    const kinds = notes.flatMap((note) => ornamentsOf(note).map(({ kind }) => kind));
    const counts = PLANTED_KINDS.map((kind) => kinds.filter((one) => one === kind).length);
    const all = counts.reduce((sum, count) => sum + count, 0);
    return [group, notes.length, ...counts, ((100 * all) / Math.max(1, notes.length)).toFixed(1)].map(String);
  });
  return textTable([['takes', 'notes', ...PLANTED_KINDS, 'per 100 notes'], ...rows]);
}
