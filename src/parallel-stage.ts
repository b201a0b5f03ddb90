import type { Samples } from './audio/samples.ts';

/**
 * Work of a stage that can be divided. What `begin` returns does items [from, to) of it; what comes of an item depends
 * neither on the range nor on what was done before, so that any thread may do any of them. What is given and what comes
 * of it can be cloned (`structuredClone`).
 */
export interface Part<Given, Result> {
  readonly name: string;
  /** Items that are done at once: some hundredths of a second, as progress and Ctrl-C wait for their end. */
  readonly pieceSize: number;
  begin(samples: Samples, given: Given): (from: number, to: number) => Result;
}

/** Who does the parts of one recording: this thread alone, or others beside it. */
export interface Crew {
  /**
   * @param count items
   * @param pause called between pieces with the share that is done, in [0, 1]; what it throws ends the work
   * @returns what came of each piece, in order
   */
  work<Given, Result>(
    part: Part<Given, Result>,
    samples: Samples,
    given: Given,
    count: number,
    pause: (fraction: number) => Promise<void>,
  ): Promise<Result[]>;
}

/** A piece of a part: its place, and its items [from, to). */
export interface Piece {
  readonly place: number;
  readonly from: number;
  readonly to: number;
}

/** The pieces that so many items make. */
export function piecesOf({ pieceSize }: { readonly pieceSize: number }, count: number): Piece[] {
  return Array.from({ length: Math.ceil(count / pieceSize) }, (_, place) => ({
    place,
    from: place * pieceSize,
    to: Math.min(count, (place + 1) * pieceSize),
  }));
}

/** All is done in this thread. */
export const ALONE: Crew = {
  async work(part, samples, given, count, pause) {
    const doItems = part.begin(samples, given);
    const results: ReturnType<typeof doItems>[] = [];
    for (const { from, to } of piecesOf(part, count)) {
      await pause(from / count);
      results.push(doItems(from, to));
    }
    return results;
  },
};
