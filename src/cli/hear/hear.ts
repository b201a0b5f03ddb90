import type { readRecording } from '../../audio/read.ts';
import type { Samples } from '../../audio/samples.ts';
import { ReedtraceError } from '../../errors.ts';
import { LONG_SEC } from '../../limits.ts';
import type { TakeSource } from '../../take/schema.ts';
import type { Findings } from '../../take/take.ts';
import type { NamedHarp } from '../options/harp.ts';
import { freeMemory } from './free-memory.ts';

/** How recordings are heard: on which harp, if named, and whether doubtful sounds are kept. */
export interface HearOptions extends NamedHarp {
  keepAll?: boolean;
}

/** The stages of work that the command needs. */
export interface Engine {
  readonly readRecording: typeof readRecording;
  transcribe(
    samples: Samples,
    options: HearOptions & {
      signal?: AbortSignal;
      onProgress?: (stage: string, fraction: number) => void;
    },
  ): Promise<Findings & { readonly remarks: readonly string[] }>;
  /** Names of the stages that `transcribe` reports, in order. */
  readonly stages: readonly string[];
}

/** The results for one recording. */
export interface Heard {
  readonly source: TakeSource;
  /** From reading and transcribing. */
  readonly remarks: readonly string[];
  readonly findings: Findings;
}

export const READING = 'reading';

/** Of a long recording, memory is freed this many times in every stage. */
const PARTS = 8;

/**
 * Reads and transcribes one recording here.
 * @throws ReedtraceError as `readRecording` and `transcribe`
 */
export async function hear(
  engine: Engine,
  path: string,
  how: HearOptions,
  signal: AbortSignal,
  onProgress: (stage: string, fraction: number) => void,
): Promise<Heard> {
  const heard = await readAndTranscribe(engine, path, how, signal, onProgress);
  // Frees the sound itself, which is no longer referenced.
  if (heard.source.durationSec > LONG_SEC) await freeMemory();
  return heard;
}

async function readAndTranscribe(
  engine: Engine,
  path: string,
  how: HearOptions,
  signal: AbortSignal,
  onProgress: (stage: string, fraction: number) => void,
): Promise<Heard> {
  onProgress(READING, 0);
  const recording = await engine.readRecording(path, {
    signal,
    onProgress: (fraction) => onProgress(READING, fraction),
  });
  const { source } = recording;
  const isLong = recording.samples.durationSec > LONG_SEC;
  let last = '';
  const { remarks, ...findings } = await engine
    .transcribe(recording.samples, {
      ...how,
      signal,
      onProgress: (stage, fraction) => {
        const part = `${stage} ${Math.floor(PARTS * fraction)}`;
        if (isLong && part !== last) void freeMemory();
        last = part;
        onProgress(stage, fraction);
      },
    })
    .catch((error: unknown) => {
      throw withName(error, source.file);
    });
  return { source, remarks: [...recording.remarks, ...remarks], findings };
}

/** Adds the file's name to an error of the analysis, which doesn't know it. */
function withName(error: unknown, file: string): unknown {
  if (!(error instanceof ReedtraceError) || error.code !== 'E_NOTHING_PLAYED') return error;
  return new ReedtraceError(error.code, `'${file}': ${error.message}`, error.fix, { cause: error });
}
