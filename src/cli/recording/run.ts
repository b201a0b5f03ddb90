import { EXIT, type ExitCode } from '../../errors.ts';
import { LOOKING_STAGES, lookAtRecording } from '../../recording/look.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import { createProgress } from '../terminal/progress.ts';
import type { RecordingCommandOptions } from './options.ts';
import { recordingJson, recordingText } from './print.ts';

/** Examines one recording and prints the result; succeeds whatever was found. */
export async function runRecording(
  path: string,
  options: RecordingCommandOptions,
  io: Io,
): Promise<ExitCode> {
  const progress = createProgress(io, { quiet: options.quiet ?? false, stages: [...LOOKING_STAGES] });
  try {
    progress.begin(path === '-' ? 'standard input' : path);
    const looked = await lookAtRecording(path, {
      signal: io.signal,
      onProgress: (stage, fraction) => progress.report(stage, fraction),
    });
    progress.clear();
    io.stdout.write(options.json ? recordingJson(looked) : recordingText(looked, columnsOf(io.stdout)));
    return EXIT.done;
  } finally {
    progress.clear();
  }
}
