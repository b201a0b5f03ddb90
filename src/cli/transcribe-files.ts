import { mkdir } from 'node:fs/promises';
import { basename, resolve } from 'node:path';
import type { readRecording } from '../audio/read.ts';
import type { Samples } from '../audio/samples.ts';
import { EXIT, type ExitCode, ReedtraceError } from '../errors.ts';
import { formatSheet } from '../tab/sheet.ts';
import type { TabStyle } from '../tab/text.ts';
import { formatTake, type Take } from '../take/schema.ts';
import { checkWritable, writeTake } from '../take/store.ts';
import { buildTake, type Findings } from '../take/take.ts';
import { paintFor } from './colour.ts';
import { reportFault } from './fault-report.ts';
import type { NamedHarp } from './harp-options.ts';
import { columnsOf, type Io } from './io.ts';
import { errorLine, isInterruption, oneLine, worse } from './message.ts';
import { createProgress, type Progress } from './progress.ts';
import { findRecordings, type Operand } from './recordings.ts';
import { chooseDestination, type Destination, takePath } from './take-path.ts';

/** The stages of work that the command sets going. */
export interface Engine {
  readonly readRecording: typeof readRecording;
  transcribe(
    samples: Samples,
    options: NamedHarp & {
      signal?: AbortSignal;
      onProgress?: (stage: string, fraction: number) => void;
    },
  ): Promise<Findings & { readonly remarks: readonly string[] }>;
  /** Names of the stages that `transcribe` reports, in order. */
  readonly stages: readonly string[];
}

export interface TranscribeOptions {
  readonly harp: NamedHarp;
  readonly style: TabStyle;
  readonly out?: string | undefined;
  readonly save: boolean;
  readonly force: boolean;
  readonly json: boolean;
  readonly quiet: boolean;
  readonly debug: boolean;
}

const READING = 'reading';

/** One run over all recordings: what has been printed and written so far. */
class Run {
  readonly #io: Io;
  readonly #engine: Engine;
  readonly #options: TranscribeOptions;
  readonly #progress: Progress;
  /** Takes written in this run, and from what. */
  readonly #written = new Map<string, string>();
  readonly #inputs: ReadonlySet<string>;
  readonly jsonTakes: string[] = [];
  #sheets = 0;

  constructor(io: Io, engine: Engine, options: TranscribeOptions, operands: readonly Operand[]) {
    this.#io = io;
    this.#engine = engine;
    this.#options = options;
    this.#inputs = new Set(operands.map(({ path }) => resolve(path)));
    this.#progress = createProgress(io, { quiet: options.quiet, stages: [READING, ...engine.stages] });
  }

  async transcribeOne(operand: Operand, label: string, destination: Destination): Promise<ExitCode> {
    try {
      if ('error' in operand) throw operand.error;
      await this.#work(operand.path, label, destination);
      return EXIT.done;
    } catch (error) {
      this.#progress.clear();
      if (isInterruption(error)) throw error;
      if (!(error instanceof ReedtraceError)) {
        return reportFault(this.#io, error, [operand.path], this.#options.debug);
      }
      this.#io.stderr.write(errorLine(error));
      return error.exitCode;
    }
  }

  async #work(path: string, label: string, destination: Destination): Promise<void> {
    const { signal } = this.#io;
    const target = takePath(path, destination);
    if (target !== null) await this.#checkTarget(path, target);
    this.#progress.begin(label);
    this.#progress.report(READING, 0);
    const recording = await this.#engine.readRecording(path, {
      signal,
      onProgress: (fraction) => this.#progress.report(READING, fraction),
    });
    this.#remark(path, recording.remarks);
    const findings = await this.#engine
      .transcribe(recording.samples, {
        ...this.#options.harp,
        signal,
        onProgress: (stage, fraction) => this.#progress.report(stage, fraction),
      })
      .catch((error: unknown) => {
        throw withName(error, recording.source.file);
      });
    this.#remark(path, findings.remarks);
    const take = buildTake(recording.source, findings);
    this.#progress.clear();
    this.#print(take);
    if (target === null) return;
    const bytes = await writeTake(target, take, { force: this.#options.force });
    this.#written.set(resolve(target), path);
    this.#say(`saved '${target}' (${Math.ceil(bytes / 1000)} kB)`);
  }

  /** Before any work: the take may be written, and is neither a recording nor the take of another. */
  async #checkTarget(path: string, target: string): Promise<void> {
    if (this.#inputs.has(resolve(target))) {
      throw new ReedtraceError('E_USAGE', `'${target}' is a recording`, 'give another name with `--out`');
    }
    const other = this.#written.get(resolve(target));
    if (other !== undefined) {
      throw new ReedtraceError(
        'E_EXISTS',
        `'${path}' and '${other}' would both be saved as '${target}'`,
        'transcribe them one by one with `--out`, or rename one',
      );
    }
    await checkWritable(target, this.#options.force);
  }

  #print(take: Take): void {
    const { stdout } = this.#io;
    if (this.#options.json) {
      this.jsonTakes.push(formatTake(take).trimEnd());
      return;
    }
    const sheet = formatSheet(
      { ...take, source: { ...take.source, file: oneLine(take.source.file) } },
      { columns: columnsOf(stdout), style: this.#options.style, paint: paintFor(this.#io) },
    );
    stdout.write(this.#sheets++ === 0 ? sheet : `\n${sheet}`);
  }

  #remark(path: string, remarks: readonly string[]): void {
    for (const remark of remarks) this.#say(`remark: ${basename(path)}: ${remark}`);
  }

  #say(text: string): void {
    if (this.#options.quiet) return;
    this.#progress.clear();
    this.#io.stderr.write(`${oneLine(text)}\n`);
  }

  summarise(failed: readonly string[], total: number): void {
    const well = `${total - failed.length} of ${total} recordings transcribed`;
    this.#say(failed.length === 0 ? well : `${well}; not these: ${failed.join(', ')}`);
  }
}

/** The analysis doesn't know what its samples were called; a reader with many recordings has to. */
function withName(error: unknown, file: string): unknown {
  if (!(error instanceof ReedtraceError) || error.code !== 'E_NOTHING_PLAYED') return error;
  return new ReedtraceError(error.code, `'${file}': ${error.message}`, error.fix, { cause: error });
}

/**
 * Transcribes recordings one after another: tab or JSON to standard output, takes beside the recordings.
 * One that fails doesn't stop the others.
 * @returns the highest exit code among them
 * @throws ReedtraceError E_USAGE for options that contradict each other; E_INTERRUPTED
 */
export async function transcribeFiles(
  named: readonly string[],
  options: TranscribeOptions,
  io: Io,
  engine: Engine,
): Promise<ExitCode> {
  const { operands, many } = await findRecordings(named);
  const destination = await chooseDestination(options, many);
  if (destination.kind === 'folder') await makeFolder(destination.folder);
  const run = new Run(io, engine, options, operands);
  let code: ExitCode = EXIT.done;
  const failed: string[] = [];
  try {
    for (const [index, operand] of operands.entries()) {
      const name = operand.path === '-' ? 'standard input' : basename(operand.path);
      const label = many ? `${index + 1} of ${operands.length}, ${name}` : name;
      const one = await run.transcribeOne(operand, label, destination);
      if (one !== EXIT.done) failed.push(operand.path);
      code = worse(code, one);
      if (io.signal.aborted) throw new ReedtraceError('E_INTERRUPTED', 'stopped', 'start the command again');
    }
  } finally {
    if (options.json) printJson(io, run.jsonTakes, many);
  }
  if (operands.length > 1) run.summarise(failed, operands.length);
  return code;
}

/** One take as it is; several, or a folder of them, as an array, also when only one of them worked. */
function printJson(io: Io, takes: readonly string[], many: boolean): void {
  if (many) io.stdout.write(`[${takes.join(',\n')}]\n`);
  else if (takes.length > 0) io.stdout.write(`${takes[0]}\n`);
}

async function makeFolder(folder: string): Promise<void> {
  await mkdir(folder, { recursive: true }).catch((cause: NodeJS.ErrnoException) => {
    throw new ReedtraceError(
      'E_CANNOT_WRITE',
      `the folder '${folder}' could not be made (${cause.code})`,
      'choose another with `--out`',
      { cause },
    );
  });
}
