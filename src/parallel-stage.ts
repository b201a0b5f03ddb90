import type { Samples } from './audio/samples.ts';

/**
 * Work of a stage that can be divided. What `begin` returns does items [from, to) of it; what comes of an item depends
 * neither on the range nor on what was done before, so that any thread may do any of them. What is given and what comes
 * of it can be cloned (`structuredClone`).
 */
export interface ParallelStage<Given, Result> {
  readonly name: string;
  /** Items that are done at once: some hundredths of a second, as progress and Ctrl-C wait for their end. */
  readonly chunkSize: number;
  begin(samples: Samples, given: Given): (from: number, to: number) => Result;
}

/** Who does the parallel stages of one recording: this thread alone, or others beside it. */
export interface WorkerPool {
  /**
   * @param count items
   * @param pause called between chunks with the share that is done, in [0, 1]; what it throws ends the work
   * @returns what came of each chunk, in order
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

/** The chunks that so many items make. */
export function chunksOf({ chunkSize }: { readonly chunkSize: number }, count: number): Chunk[] {
  return Array.from({ length: Math.ceil(count / chunkSize) }, (_, place) => ({
    place,
    from: place * chunkSize,
    to: Math.min(count, (place + 1) * chunkSize),
  }));
}

/** All is done in this thread. */
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
