import { parentPort, workerData } from 'node:worker_threads';
import { Samples, type SamplesHandle } from '../../audio/samples.ts';
import { type Hearing, hear } from '../state/hearing.ts';

// The thread ends by itself once everything is reported.
const tell = (hearing: Hearing): void => parentPort?.postMessage(hearing);
tell(await hear(Samples.fromHandle(workerData as SamplesHandle), tell));
