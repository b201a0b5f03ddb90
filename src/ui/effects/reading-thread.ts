import { parentPort } from 'node:worker_threads';
import type { CustomHarp, HarpSpec } from '../../harp/types.ts';
import { changeTake } from '../../take/edits/change.ts';
import { diffTakes, type TakePatch } from '../../take/edits/patch.ts';
import type { Take } from '../../take/schema.ts';

/** A harp to read on, with the take if it differs from the last request. */
export interface ReadingRequest {
  readonly take: Take | null;
  readonly harp: HarpSpec;
  readonly custom: CustomHarp;
}

/** What the take would become. */
export interface ReadingAnswer {
  readonly harp: HarpSpec;
  readonly patch: TakePatch | null;
}

let take: Take | null = null;
let latest: ReadingRequest | null = null;
parentPort?.on('message', (request: ReadingRequest) => {
  take = request.take ?? take;
  // If the user moved past several harps, only the last is read.
  if (latest === null) setImmediate(read);
  latest = request;
});

function read(): void {
  if (take === null || latest === null) return;
  const { harp, custom } = latest;
  latest = null;
  const patch = diffTakes(take, changeTake(take, { kind: 'harp', harp }, custom));
  parentPort?.postMessage({ harp, patch } satisfies ReadingAnswer);
}
