import type { Samples } from './audio/samples.ts';

/**
 * The work of a stage that can be divided. What `begin` returns does items [from, to). The result of an item depends
 * neither on the range nor on what was done before, so any thread may do any of them. Input and results can be cloned
 * (`structuredClone`).
 */
export interface ParallelStage<Given, Result> {
  readonly name: string;
  /** Items done at once: a few hundredths of a second of work, since progress and Ctrl-C wait for them. */
  readonly chunkSize: number;
  begin(samples: Samples, given: Given): (from: number, to: number) => Result;
}

/** Runs the parallel stages of one recording: on this thread alone, or on others too. */
export interface WorkerPool {
  /**
   * @param count items
   * @param pause called between chunks with the share that is done, in [0, 1]; if it throws, the work ends
   * @returns the result of each chunk, in order
   */
  run<Given, Result>(
    stage: ParallelStage<Given, Result>,
    samples: Samples,
    given: Given,
    count: number,
    pause: (fraction: number) => Promise<void>,
  ): Promise<Result[]>;
}

/** A chunk of a parallel stage: its place, and its items [from, to). */
export interface Chunk {
  readonly place: number;
  readonly from: number;
  readonly to: number;
}

/** Divides this many items into chunks. */
export function chunksOf({ chunkSize }: { readonly chunkSize: number }, count: number): Chunk[] {
  return Array.from({ length: Math.ceil(count / chunkSize) }, (_, place) => ({
    place,
    from: place * chunkSize,
    to: Math.min(count, (place + 1) * chunkSize),
  }));
}

/** Does everything on this thread. */
export const SEQUENTIAL: WorkerPool = {
  async run(stage, samples, given, count, pause) {
    const doItems = stage.begin(samples, given);
    const results: ReturnType<typeof doItems>[] = [];
    for (const { from, to } of chunksOf(stage, count)) {
      await pause(from / count);
      results.push(doItems(from, to));
    }
    return results;
  },
};
