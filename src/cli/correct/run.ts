import { lstat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import { readStart } from '../../files/read-input.ts';
import { lockTake, type TakeLock } from '../../take/files/lock.ts';
import { readTake, readTakeText } from '../../take/files/store.ts';
import { decodeText } from '../../text/decode-text.ts';
import { takeName } from '../files/take-path.ts';
import { recordingOf } from '../files/take-recording.ts';
import { type NamedHarp, readHarpOptions } from '../options/harp.ts';
import type { CommonOptions } from '../terminal/command.ts';
import type { Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';
import type { CorrectOptions } from './options.ts';

/** The terminal of the process, if it has one. */
const TERMINAL = { stdin: process.stdin, stdout: process.stdout };

/**
 * Opens the correction screen and stays until the player leaves it.
 * @throws ReedtraceError E_NO_TERMINAL, E_TAKE_IN_USE, and what reading a take or a recording throws
 */
export async function correct(path: string, options: CorrectOptions, io: Io): Promise<ExitCode> {
  if (path === '-') {
    throw new ReedtraceError(
      'E_USAGE',
      'a take from standard input cannot be corrected',
      'save it to a file first',
    );
  }
  const harp = await readHarpOptions(options);
  const isRecording = !(await looksLikeTake(path));
  if (!io.stdout.isTTY || !io.stdin.isTTY) {
    throw new ReedtraceError(
      'E_NO_TERMINAL',
      'the correction screen needs a terminal for input and output',
      'run it in a terminal without pipes; `reedtrace transcribe` prints tab anywhere',
    );
  }
  const takePath = isRecording ? await takeOfRecording(path, harp, options, io) : path;
  await readTake(takePath);
  const lock = lockOrNull(takePath);
  try {
    const [{ Session }, { runScreen, sizeOf }, { dropTypedAhead }] = await Promise.all([
      import('../../ui/effects/session.ts'),
      import('../../ui/run.ts'),
      import('../../ui/effects/keyboard.ts'),
    ]);
    // Read again, now that no other correction screen can change it.
    const { take, text } = await readTakeText(takePath);
    const session = await Session.open({
      path: takePath,
      name: oneLine(basename(takePath)),
      take,
      text,
      lock,
      ...(options.recording !== undefined && {
        recording: await recordingOf(takePath, take, options.recording),
      }),
      custom: harp.custom ?? {},
      env: io.env,
      size: sizeOf(TERMINAL),
    });
    // Keys typed while waiting would change notes unseen.
    if (isRecording) await dropTypedAhead(TERMINAL.stdin);
    const { waiting } = await runScreen(TERMINAL, io.env, session, io.signal);
    if (waiting > 0 && !options.quiet) {
      const changes = waiting === 1 ? '1 change waits' : `${waiting} changes wait`;
      io.stderr.write(`${changes} in '${oneLine(takePath)}.journal'; you can restore them next time\n`);
    }
    return io.signal.aborted ? EXIT.interrupted : EXIT.done;
  } finally {
    lock?.release();
  }
}

/** The lock of a take; null where nothing may be written: then it can only be viewed. */
function lockOrNull(takePath: string): TakeLock | null {
  try {
    return lockTake(takePath);
  } catch (error) {
    if (error instanceof ReedtraceError && error.code === 'E_CANNOT_WRITE') return null;
    throw error;
  }
}

/** A take begins with a brace, and no recording does. A missing file or a folder is reported by the next reader. */
async function looksLikeTake(path: string): Promise<boolean> {
  if (/\.json$/i.test(path)) return true;
  const head = await readStart(path, 64);
  return head !== null && /^\s*\{/.test(decodeText(head));
}

/** The take next to a recording, which is transcribed first if there is none. */
async function takeOfRecording(
  path: string,
  harp: NamedHarp,
  options: CommonOptions,
  io: Io,
): Promise<string> {
  const target = join(dirname(path), takeName(path));
  if ((await lstat(target).catch(() => null)) !== null) {
    if (!options.quiet) io.stderr.write(`'${oneLine(target)}' already exists: opened as it is\n`);
    return target;
  }
  const [
    { readRecording },
    { STAGES },
    { transcribeOnCores },
    { buildTake },
    { checkWritable, writeTake },
    { createProgress },
  ] = await Promise.all([
    import('../../audio/read.ts'),
    import('../../pipeline.ts'),
    import('../hear/on-cores.ts'),
    import('../../take/take.ts'),
    import('../../take/files/store.ts'),
    import('../terminal/progress.ts'),
  ]);
  await checkWritable(target, false);
  const progress = createProgress(io, { quiet: options.quiet ?? false, stages: ['reading', ...STAGES] });
  progress.begin(basename(path));
  try {
    const { signal } = io;
    const recording = await readRecording(path, {
      signal,
      onProgress: (fraction) => progress.report('reading', fraction),
    });
    const findings = await transcribeOnCores(recording.samples, {
      ...harp,
      signal,
      onProgress: (stage, fraction) => progress.report(stage, fraction),
    });
    await writeTake(target, buildTake(recording.source, findings), { force: false });
  } finally {
    progress.clear();
  }
  return target;
}
