import type { SamplesHandle } from '../audio/samples.ts';
import type { Piece } from '../parallel-stage.ts';

/** A part that the threads of a crew share. */
export interface CrewTask {
  readonly task: number;
  readonly part: string;
  readonly samples: SamplesHandle;
  readonly given: unknown;
  readonly count: number;
  /** How many pieces have been taken, by whichever thread. */
  readonly taken: Int32Array;
}

/** What a thread says of a task: what came of a piece, or that nothing is left to take. */
export type CrewMessage = { readonly task: number } & (
  | { readonly kind: 'piece'; readonly place: number; readonly result: unknown }
  | { readonly kind: 'idle' }
);

/** One piece after the other that no other thread has taken, until none is left. */
export function* untaken(pieces: readonly Piece[], taken: Int32Array): Generator<Piece> {
  for (let at = Atomics.add(taken, 0, 1); at < pieces.length; at = Atomics.add(taken, 0, 1)) {
    yield pieces[at];
  }
}
