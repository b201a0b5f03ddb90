import { availableParallelism } from 'node:os';
import type { Samples } from '../../audio/samples.ts';
import { type TranscribeOptions, type Transcription, transcribe } from '../../pipeline.ts';
import { ThreadPool } from '../../threads/thread-pool.ts';

/**
 * Threads have to start and compile the program for themselves, half a second of processor time: a recording of ten
 * minutes would save less time than that. [measured]
 */
const SHORTEST_SEC = 900;
/** An hour of sound must stay below 500 MB, and each thread needs some 30 MB of its own. [measured] */
const MOST_THREADS = 3;

/** `transcribe` on several cores if the recording is so long that this is quicker; the result is the same. */
export async function transcribeOnCores(
  samples: Samples,
  options: TranscribeOptions = {},
  cores = availableParallelism(),
): Promise<Transcription> {
  const threads = Math.min(cores, MOST_THREADS);
  if (threads < 2 || samples.durationSec < SHORTEST_SEC) return transcribe(samples, options);
  const pool = new ThreadPool(threads - 1, options.signal);
  try {
    return await transcribe(samples, { ...options, pool });
  } finally {
    await pool.close();
  }
}
