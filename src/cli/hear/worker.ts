import { parentPort, workerData } from 'node:worker_threads';
import { readRecording } from '../../audio/read.ts';
import { type ErrorCode, ReedtraceError } from '../../errors.ts';
import { STAGES, transcribe } from '../../pipeline.ts';
import { type Heard, type HearOptions, hear } from './hear.ts';

/** What a worker reports about its recording. */
export type WorkerMessage =
  | { readonly kind: 'progress'; readonly stage: string; readonly fraction: number }
  | { readonly kind: 'heard'; readonly heard: Heard }
  | { readonly kind: 'expected'; readonly code: ErrorCode; readonly message: string; readonly fix: string }
  | { readonly kind: 'fault'; readonly message: string; readonly stack: string };

/** One message every tenth of a second is enough for a progress line. */
const PROGRESS_MS = 100;

const say = (message: WorkerMessage) => parentPort?.postMessage(message);
const how = workerData as HearOptions;
// The main thread ends a worker from outside, so nothing here listens for Ctrl-C.
const never = new AbortController().signal;

parentPort?.on('message', async (path: string) => {
  let toldAt = Number.NEGATIVE_INFINITY;
  try {
    const heard = await hear(
      { readRecording, transcribe, stages: STAGES },
      path,
      how,
      never,
      (stage, fraction) => {
        const now = performance.now();
        if (now - toldAt < PROGRESS_MS) return;
        toldAt = now;
        say({ kind: 'progress', stage, fraction });
      },
    );
    say({ kind: 'heard', heard });
  } catch (error) {
    if (error instanceof ReedtraceError) {
      say({ kind: 'expected', code: error.code, message: error.message, fix: error.fix });
    } else {
      const fault = error instanceof Error ? error : new Error(String(error));
      say({ kind: 'fault', message: fault.message, stack: fault.stack ?? fault.message });
    }
  }
});
