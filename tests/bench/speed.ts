import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { peakTo } from '../../samples/synth/degrade.ts';
import { STUDENT } from '../../samples/synth/style.ts';
import { synthesise } from '../../samples/synth/take.ts';
import { encodeWav } from '../../samples/synth/wav.ts';
import { TUNES } from '../../samples/tunes.ts';
import { hasProgram, inTemporaryFolder } from './external.ts';
import { timed } from './peers.ts';

/** Time and memory of one run of a program, start-up included. */
export interface SpeedRow {
  readonly program: string;
  readonly audioSec: number;
  readonly cpuSec: number;
  /** Seconds of audio for each second of CPU time. */
  readonly realTimeFactor: number;
  /** Largest resident memory in MB; null when it can't be measured here. */
  readonly peakMb: number | null;
}

const RATE = 44100;
const CLI = fileURLToPath(new URL('../../bin/reedtrace.js', import.meta.url));

/**
 * Runs the built command line, and aubionotes where it is installed, on takes of these lengths; best of `runs`.
 * CPU time is user and system time of all threads, so it does not depend on how many cores there are.
 */
export function measureSpeed(lengthsSec: readonly number[], runs: number): SpeedRow[] {
  return inTemporaryFolder((folder) => {
    const rows: SpeedRow[] = [];
    for (const lengthSec of lengthsSec) {
      const path = join(folder, `${lengthSec}.wav`);
      writeFileSync(path, encodeWav([longTake(lengthSec)], RATE));
      const ours = [process.execPath, CLI, 'transcribe', path, '--harp', 'C', '--no-save', '--quiet'];
      rows.push(best('reedtrace', ours, lengthSec, runs, folder));
      if (hasProgram('aubionotes'))
        rows.push(best('aubionotes', ['aubionotes', '-i', path], lengthSec, runs, folder));
    }
    return rows;
  });
}

function best(
  program: string,
  command: readonly string[],
  audioSec: number,
  runs: number,
  folder: string,
): SpeedRow {
  const log = join(folder, 'memory.txt');
  const gnuTime = hasProgram('/usr/bin/time');
  let cpuSec = Infinity;
  let peakMb: number | null = null;
  for (let run = 0; run < runs; run++) {
    const whole = gnuTime ? ['/usr/bin/time', '-f', '%M', '-o', log, ...command] : command;
    cpuSec = Math.min(cpuSec, timed(whole).cpuSec);
    if (gnuTime) {
      const mb = Number(timed(['tail', '-1', log]).stdout) / 1024;
      peakMb = peakMb === null ? mb : Math.min(peakMb, mb);
    }
  }
  return { program, audioSec, cpuSec, realTimeFactor: audioSec / cpuSec, peakMb };
}

/** Tunes one after another on a C harp until the length is reached. */
function longTake(lengthSec: number): Float32Array {
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
