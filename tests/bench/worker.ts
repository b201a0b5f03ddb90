import { basename } from 'node:path';
import type { LeftOut } from '../../src/analysis/playing/left-out.ts';
import { readRecording } from '../../src/audio/read.ts';
import type { Engine } from '../../src/cli/hear/hear.ts';
import { ReedtraceError } from '../../src/errors.ts';
import type { HarpSpec } from '../../src/harp/types.ts';
import type { EstimatedNote } from './scores/measure.ts';

/** One recording for a worker; `harp` null: to be found. */
export interface Job {
  readonly path: string;
  readonly harp: Partial<HarpSpec> | null;
  /** URL of the module with `transcribe`; the project's own when left out. */
  readonly pipeline?: string | undefined;
  /** Further options for `transcribe`, as an ablation sets them. */
  readonly extra: Readonly<Record<string, unknown>>;
}

/** What came of it. */
export interface JobResult {
  readonly notes: readonly EstimatedNote[];
  /** What was heard but left out. */
  readonly leftOut: readonly LeftOut[];
  readonly harp: {
    readonly key: string;
    readonly tuning: string;
    readonly temperament: string;
    readonly a4Hz: number;
    readonly confidence: number;
    readonly alternatives: readonly { readonly key: string; readonly tuning: string }[];
  } | null;
  /** User and system time of this recording without start-up. */
  readonly cpuSec: number;
  readonly audioSec: number;
  /** Code of an expected failure (`E_NOTHING_PLAYED`), or the text of an unexpected one. */
  readonly failure: string | null;
}

const PIPELINE = new URL('../../src/pipeline.ts', import.meta.url).href;

/** Runs one recording through the product. */
async function work(job: Job): Promise<JobResult> {
  const { transcribe } = (await import(job.pipeline ?? PIPELINE)) as Pick<Engine, 'transcribe'>;
  const before = process.cpuUsage();
  let audioSec = 0;
  try {
    const recording = await readRecording(job.path);
    audioSec = recording.source.durationSec;
    const { key, ...named } = job.harp ?? {};
    const options = { ...named, ...(key === undefined ? {} : { harp: key }), ...job.extra };
    const { notes, leftOut = [], harp } = await transcribe(recording.samples, options);
    return { notes, leftOut, harp, cpuSec: cpuSince(before), audioSec, failure: null };
  } catch (error) {
    const failure =
      error instanceof ReedtraceError
        ? error.code
        : `${basename(job.path)}: ${(error as Error).stack ?? error}`;
    return { notes: [], leftOut: [], harp: null, cpuSec: cpuSince(before), audioSec, failure };
  }
}

function cpuSince(before: NodeJS.CpuUsage): number {
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1e6;
}

process.on('message', (job: Job) => {
  void work(job).then((result) => process.send?.(result));
});
