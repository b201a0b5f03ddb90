import { parentPort } from 'node:worker_threads';
import { Samples } from '../audio/samples.ts';
import { piecesOf } from '../parallel-stage.ts';
import { PARTS } from './stages.ts';
import { type CrewMessage, type CrewTask, untaken } from './task.ts';

const say = (message: CrewMessage): void => parentPort?.postMessage(message);

// What breaks here ends the thread, and is done, or breaks, in the main thread.
parentPort?.on('message', ({ task, part: name, samples, given, count, taken }: CrewTask) => {
  const part = PARTS.get(name)!;
  const doItems = part.begin(Samples.fromHandle(samples), given as never);
  for (const { place, from, to } of untaken(piecesOf(part, count), taken)) {
    say({ task, kind: 'piece', place, result: doItems(from, to) });
  }
  say({ task, kind: 'idle' });
});
