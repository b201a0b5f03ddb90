import { writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { peakTo } from '../../../samples/synth/scene/degrade.ts';
import { STUDENT } from '../../../samples/synth/style.ts';
import { synthesise } from '../../../samples/synth/take.ts';
import { encodeWav } from '../../../samples/synth/wav.ts';
import { TUNES } from '../../../samples/tunes.ts';
import { timed } from '../peers/peers.ts';
import { hasProgram, inTemporaryFolder } from '../sets/external.ts';

/** Time and memory of one run of a program, start-up included. */
export interface SpeedRow {
  readonly program: string;
  readonly audioSec: number;
  /** That the program may use. */
  readonly cores: number;
  readonly cpuSec: number;
  /** By the clock; only of a quiet machine does it tell anything. */
  readonly wallSec: number;
  /** Seconds of audio for each second of CPU time. */
  readonly realTimeFactor: number;
  /** Largest resident memory in MB; null when it can't be measured here. */
  readonly peakMb: number | null;
}

export const RATE = 44100;
const ONE_CORE = ['taskset', '-c', '0'];
const CLI = fileURLToPath(new URL('../../../bin/reedtrace.js', import.meta.url));

/**
 * Runs the built command line on one core and on all, and aubionotes where it is installed, on takes of these lengths;
 * best of `runs`, which alternate, so that other work on the machine affects all equally. CPU time is user and system
 * time of all threads.
 */
export function measureSpeed(lengthsSec: readonly number[], runs: number): SpeedRow[] {
  return inTemporaryFolder((folder) =>
    lengthsSec.flatMap((lengthSec) => {
      const path = join(folder, `${lengthSec}.wav`);
      writeFileSync(path, encodeWav([longTake(lengthSec)], RATE));
      const trials = programs(path, join(folder, 'take.json'));
      const rows = Array.from({ length: runs }, () =>
        trials.map((trial) => runOnce(trial, lengthSec, join(folder, 'memory.txt'))),
      );
      return trials.map((_, i) => rows.map((row) => row[i]).reduce(better));
    }),
  );
}

interface Trial {
  readonly program: string;
  readonly cores: number;
  readonly command: readonly string[];
}

/** @param takePath  where the take goes: without one, no bars are found */
function programs(path: string, takePath: string): Trial[] {
  const saved = ['--out', takePath, '--force', '--quiet'];
  const ours = [process.execPath, CLI, 'transcribe', path, '--harp', 'C', ...saved];
  const cores = availableParallelism();
  const all = { program: 'reedtrace', cores, command: ours };
  const one = { program: 'reedtrace', cores: 1, command: [...ONE_CORE, ...ours] };
  const peer = { program: 'aubionotes', cores: 1, command: ['aubionotes', '-i', path] };
  return [
    ...(cores > 1 && hasProgram('taskset') ? [one] : []),
    all,
    ...(hasProgram('aubionotes') ? [peer] : []),
  ];
}

function runOnce({ program, cores, command }: Trial, audioSec: number, log: string): SpeedRow {
  const gnuTime = hasProgram('/usr/bin/time');
  const whole = gnuTime ? ['/usr/bin/time', '-f', '%M', '-o', log, ...command] : command;
  const { cpuSec, wallSec } = timed(whole);
  const peakMb = gnuTime ? Number(timed(['tail', '-1', log]).stdout) / 1024 : null;
  return { program, audioSec, cores, cpuSec, wallSec, realTimeFactor: audioSec / cpuSec, peakMb };
}

/** The least of each figure, but the most memory, as it must suffice. */
function better(a: SpeedRow, b: SpeedRow): SpeedRow {
  const cpuSec = Math.min(a.cpuSec, b.cpuSec);
  return {
    ...a,
    cpuSec,
    wallSec: Math.min(a.wallSec, b.wallSec),
    realTimeFactor: a.audioSec / cpuSec,
    peakMb: a.peakMb === null || b.peakMb === null ? null : Math.max(a.peakMb, b.peakMb),
  };
}

/** Tunes one after another on a C harp until the length is reached. */
export function longTake(lengthSec: number): Float32Array {
  const out = new Float32Array(Math.round(lengthSec * RATE));
  const tabs = Object.values(TUNES);
  for (let at = 0, i = 0; at < out.length; i++) {
    const { samples } = synthesise({
      name: 'long',
      category: 'speed',
      harp: { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 },
      tab: tabs[i % tabs.length],
      style: STUDENT,
      seed: 1000 + i,
    });
    out.set(samples.subarray(0, out.length - at), at);
    at += samples.length;
  }
  return peakTo(out, 0.6);
}
