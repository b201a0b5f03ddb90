import { parentPort } from 'node:worker_threads';
import { Samples } from '../audio/samples.ts';
import { chunksOf } from '../parallel-stage.ts';
import { PARALLEL_STAGES } from './stages.ts';
import { type PoolTask, untaken, type WorkerMessage } from './task.ts';

const say = (message: WorkerMessage): void => parentPort?.postMessage(message);

// An error here ends the thread; the main thread then does the chunk, and reports the error if it fails there too.
parentPort?.on('message', ({ task, stage: name, samples, given, count, taken }: PoolTask) => {
  const stage = PARALLEL_STAGES.get(name)!;
  const doItems = stage.begin(Samples.fromHandle(samples), given as never);
  for (const { place, from, to } of untaken(chunksOf(stage, count), taken)) {
    say({ task, kind: 'chunk', place, result: doItems(from, to) });
  }
  say({ task, kind: 'idle' });
});
