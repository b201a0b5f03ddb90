import { basename, resolve } from 'node:path';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import { KeptFiles } from '../../files/kept-files.ts';
import type { TabStyle } from '../../tab/text.ts';
import { checkWritable, writeTake } from '../../take/files/store.ts';
import type { Take } from '../../take/schema.ts';
import { buildTake } from '../../take/take.ts';
import type { Operand } from '../files/recordings.ts';
import type { Shard } from '../files/shard.ts';
import { type Destination, takePath } from '../files/take-path.ts';
import type { Heard } from '../hear/hear.ts';
import { kindOfFile } from '../hear/open-take.ts';
import { takeOfSame } from '../hear/unchanged.ts';
import type { NamedHarp } from '../options/harp.ts';
import { changesMusic, type GivenMusic, keptInWords } from '../options/music.ts';
import { reportFault } from '../terminal/fault-report.ts';
import type { Io } from '../terminal/io.ts';
import { errorLine, isInterruption, oneLine } from '../terminal/message.ts';
import type { Progress } from '../terminal/progress.ts';
import { TakePrinter } from './print.ts';

export interface TranscribeOptions {
  readonly harp: NamedHarp;
  /** Makes doubtful notes of whatever was heard. */
  readonly keepAll?: boolean;
  readonly music: GivenMusic;
  readonly style: TabStyle;
  readonly out?: string | undefined;
  readonly save: boolean;
  readonly force: boolean;
  readonly json: boolean;
  readonly quiet: boolean;
  readonly debug: boolean;
  readonly shard?: Shard;
}

/** The result for one recording, before anything is printed or written. */
export type Outcome =
  | { readonly kind: 'heard'; readonly heard: Heard; readonly target: string | null }
  | { readonly kind: 'unchanged'; readonly take: Take; readonly target: string }
  | { readonly kind: 'failed'; readonly error: unknown };

/** One run over all recordings: what has been printed and written so far. */
export class TranscribeRun {
  readonly #io: Io;
  readonly #hear: (path: string, label: string) => Promise<Heard>;
  readonly #options: TranscribeOptions;
  readonly #progress: Progress;
  /** Takes written in this run, with their recordings. */
  readonly #written = new Map<string, string>();
  readonly #inputs: KeptFiles;
  readonly #many: boolean;
  readonly printer: TakePrinter;
  #unchanged = 0;

  constructor(
    io: Io,
    hearing: (path: string, label: string) => Promise<Heard>,
    progress: Progress,
    options: TranscribeOptions,
    { operands, many }: { operands: readonly Operand[]; many: boolean },
  ) {
    this.#io = io;
    this.#hear = hearing;
    this.#options = options;
    this.printer = new TakePrinter(io, options);
    this.#inputs = new KeptFiles(operands.map(({ path }) => [path, 'a recording']));
    this.#many = many;
    this.#progress = progress;
  }

  /** Starts work on one recording; several may be in progress at once. Never rejects. */
  async begin(operand: Operand, label: string, destination: Destination): Promise<Outcome> {
    try {
      if ('error' in operand) throw operand.error;
      const { path } = operand;
      const target = takePath(path, destination);
      if (target !== null) {
        // A single recording is always transcribed; of many, only those that are new or changed.
        const asked =
          this.#options.force ||
          this.#options.keepAll === true ||
          !this.#many ||
          this.#written.has(resolve(target));
        const take = asked ? null : await takeOfSame(path, target, this.#options.harp);
        if (take !== null) return { kind: 'unchanged', take, target };
        await this.#checkTarget(path, target);
      }
      return { kind: 'heard', heard: await this.#hear(path, label), target };
    } catch (error) {
      return { kind: 'failed', error };
    }
  }

  /** Prints and writes the result; called in the order of the recordings. */
  async end({ path }: Operand, outcome: Outcome): Promise<ExitCode> {
    this.#progress.clear();
    try {
      if (outcome.kind === 'failed') throw outcome.error;
      if (outcome.kind === 'unchanged') await this.#keep(path, outcome);
      else await this.#save(path, outcome);
      return EXIT.done;
    } catch (error) {
      if (isInterruption(error)) throw error;
      if (!(error instanceof ReedtraceError)) {
        return reportFault(this.#io, error, [path], this.#options.debug);
      }
      this.#io.stderr.write(errorLine(error));
      return error.exitCode;
    }
  }

  async #keep(path: string, { take, target }: { take: Take; target: string }): Promise<void> {
    if (changesMusic(this.#options.music)) await this.#setMusicOf(path, target);
    else await this.printer.print(take);
    this.#unchanged++;
    this.say(`unchanged '${target}': it was made from this same recording (same SHA-256)`);
  }

  /** Adds beats and words to an existing take, as `export` does. */
  async #setMusicOf(path: string, target: string): Promise<void> {
    const { holdTake } = await import('../../take/files/hold.ts');
    const held = await holdTake(target);
    try {
      const take = await this.#withMusic(path, held.take);
      await this.printer.print(take);
      const changed = await held.keep(take, new Date());
      if (changed === null) return;
      await writeTake(target, changed.take, { force: true });
      const kept = keptInWords(changed.kept);
      if (kept !== null) this.#remark(path, [kept]);
    } finally {
      held.release();
    }
  }

  async #withMusic(path: string, take: Take): Promise<Take> {
    const { music } = this.#options;
    if (!changesMusic(music)) return take;
    const { setMusic } = await import('../../take/edits/set-music.ts');
    const set = setMusic(take, music);
    this.#remark(path, set.remarks);
    return set.take;
  }

  async #save(path: string, { heard, target }: { heard: Heard; target: string | null }): Promise<void> {
    this.#remark(path, heard.remarks);
    const { source, findings } = heard;
    // Tab shows no bars, and finding them takes a fifth of the time of a short recording.
    const atOnce = !this.#options.json && !changesMusic(this.#options.music);
    if (atOnce) this.printer.printSheet({ source, ...findings });
    if (atOnce && target === null) return;
    const take = await this.#withMusic(path, buildTake(source, findings));
    if (!atOnce) await this.printer.print(take);
    if (target === null) return;
    // Checked again: with several in progress, another take may have been saved there meanwhile.
    await this.#checkTarget(path, target);
    const bytes = await writeTake(target, take, { force: this.#options.force });
    this.#written.set(resolve(target), path);
    this.say(`saved '${target}' (${Math.ceil(bytes / 1000)} kB)`);
  }

  /** Makes sure, before any work, that the take may be written and is neither a recording nor another's take. */
  async #checkTarget(path: string, target: string): Promise<void> {
    const refused = () =>
      new ReedtraceError('E_USAGE', `'${target}' is a recording`, 'give another name with `--out`');
    if ((await this.#inputs.find(target)) !== null) throw refused();
    const other = this.#written.get(resolve(target));
    if (other !== undefined) {
      throw new ReedtraceError(
        'E_EXISTS',
        `'${path}' and '${other}' would both be saved as '${target}'`,
        'transcribe them one by one with `--out`, or rename one',
      );
    }
    await checkWritable(target, this.#options.force);
    // Even a recording that this run does not read: no take may replace one.
    if ((await kindOfFile(target)) === 'recording') throw refused();
  }

  #remark(path: string, remarks: readonly string[]): void {
    for (const remark of remarks) this.say(`remark: ${basename(path)}: ${remark}`);
  }

  say(text: string): void {
    if (this.#options.quiet) return;
    this.#progress.clear();
    this.#io.stderr.write(`${oneLine(text)}\n`);
  }

  summarise(failed: readonly string[], total: number): void {
    const parts = [`${total - failed.length - this.#unchanged} of ${total} recordings transcribed`];
    if (this.#unchanged > 0) {
      parts.push(`${this.#unchanged} unchanged since their takes were made (\`--force\` redoes them)`);
    }
    if (failed.length > 0) parts.push(`failed: ${failed.join(', ')}`);
    this.say(parts.join('; '));
  }
}
