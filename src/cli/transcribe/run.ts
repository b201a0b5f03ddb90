import { basename } from 'node:path';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import { makeFolder } from '../files/make-folder.ts';
import { findRecordings } from '../files/recordings.ts';
import { isInShard } from '../files/shard.ts';
import { chooseDestination } from '../files/take-path.ts';
import { type Engine, type HearOptions, hear, READING } from '../hear/hear.ts';
import type { HearPool } from '../hear/pool.ts';
import { wordsRemark } from '../options/music.ts';
import type { Io } from '../terminal/io.ts';
import { worse } from '../terminal/message.ts';
import { createProgress } from '../terminal/progress.ts';
import { ProgressBoard } from '../terminal/progress-board.ts';
import { type Outcome, type TranscribeOptions, TranscribeRun } from './one-recording.ts';

/** Where recordings are heard: here, or on several threads when there are many. */
export interface Ears {
  readonly engine: Engine;
  /** Opens threads for this many recordings; null if one at a time is best. */
  openPool?(
    recordings: number,
    how: HearOptions,
    signal: AbortSignal,
  ): Pick<HearPool, 'hear' | 'close'> | null;
  /** How many recordings may be in progress at once. */
  readonly ahead?: number;
}

/**
 * Transcribes recordings, several at once if `ears` has threads for it: prints tab or JSON in the order of the
 * recordings, and saves takes next to them. One that fails doesn't stop the others; of many, those whose take was made
 * from the same file are skipped.
 * @returns the highest exit code among them
 * @throws ReedtraceError E_USAGE for options that contradict each other; E_INTERRUPTED
 */
export async function transcribeFiles(
  named: readonly string[],
  options: TranscribeOptions,
  io: Io,
  ears: Ears,
): Promise<ExitCode> {
  const { operands: all, many } = await findRecordings(named);
  const { shard } = options;
  const operands = shard === undefined ? all : all.filter(({ path }) => isInShard(shard, path));
  const destination = await chooseDestination(options, many);
  if (destination.kind === 'folder') await makeFolder(destination.folder);
  const { words } = options.music;
  const remark = wordsRemark(words);
  if (remark !== null && !options.quiet) io.stderr.write(`remark: ${remark}\n`);
  const progress = createProgress(io, { quiet: options.quiet, stages: [READING, ...ears.engine.stages] });
  const { harp, keepAll = false } = options;
  const how: HearOptions = keepAll ? { ...harp, keepAll } : harp;
  const pool = ears.openPool?.(operands.length, how, io.signal) ?? null;
  const board = new ProgressBoard(progress, operands.length);
  const here = (path: string, label: string) => {
    progress.begin(label);
    return hear(ears.engine, path, how, io.signal, (stage, fraction) => progress.report(stage, fraction));
  };
  // Standard input belongs to the main thread.
  const hearing = (path: string, label: string) =>
    pool === null || path === '-'
      ? here(path, label)
      : board.follow(label, (report) => pool.hear(path, report));
  const run = new TranscribeRun(io, hearing, progress, options, { operands, many });
  let code: ExitCode = EXIT.done;
  const failed: string[] = [];
  const begun: (Promise<Outcome> | null)[] = [];
  const ahead = pool === null ? 1 : (ears.ahead ?? 1);
  try {
    for (const [index, operand] of operands.entries()) {
      while (begun.length < Math.min(operands.length, index + ahead)) {
        const next = operands[begun.length];
        const name = next.path === '-' ? 'standard input' : basename(next.path);
        const label = many ? `${begun.length + 1} of ${operands.length}, ${name}` : name;
        begun.push(run.begin(next, label, destination));
      }
      const outcome = await begun[index];
      // Results that are printed and saved are dropped: there may be a hundred thousand of them.
      begun[index] = null;
      const one = outcome === null ? EXIT.done : await run.end(operand, outcome);
      board.done();
      if (one !== EXIT.done) failed.push(operand.path);
      code = worse(code, one);
      if (io.signal.aborted) throw new ReedtraceError('E_INTERRUPTED', 'stopped', 'run the command again');
    }
  } finally {
    await pool?.close();
    progress.clear();
    run.printer.end(many);
  }
  if (operands.length > 1) run.summarise(failed, operands.length);
  if (operands.length === 0) run.say(`none of the ${all.length} recordings is in this share`);
  return code;
}
