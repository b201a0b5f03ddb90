import type { SamplesHandle } from '../audio/samples.ts';
import type { Chunk } from '../parallel-stage.ts';

/** A parallel stage that the threads of a pool share. */
export interface PoolTask {
  readonly task: number;
  readonly stage: string;
  readonly samples: SamplesHandle;
  readonly given: unknown;
  readonly count: number;
  /** How many chunks have been taken, by whichever thread. */
  readonly taken: Int32Array;
}

/** What a thread reports about a task: the result of a chunk, or that no chunk is left. */
export type WorkerMessage = { readonly task: number } & (
  | { readonly kind: 'chunk'; readonly place: number; readonly result: unknown }
  | { readonly kind: 'idle' }
);

/** Yields chunks that no other thread has taken, until none is left. */
export function* untaken(chunks: readonly Chunk[], taken: Int32Array): Generator<Chunk> {
  for (let at = Atomics.add(taken, 0, 1); at < chunks.length; at = Atomics.add(taken, 0, 1)) {
    yield chunks[at];
  }
}
