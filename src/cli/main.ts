import { tmpdir } from 'node:os';
import { EXIT } from '../errors.ts';
import { hasTemporaries, removeTemporaries } from '../files/temporary.ts';
import { run } from './run.ts';
import type { Output } from './terminal/io.ts';
import { compileSparingly } from './v8-settings.ts';

compileSparingly();

/** An output of the process that survives its reader. */
class ProcessOutput implements Output {
  readonly #stream: NodeJS.WriteStream;
  /** Code of the first failure; `EPIPE` when the reader left early. */
  failure: string | null = null;

  constructor(stream: NodeJS.WriteStream) {
    this.#stream = stream;
    stream.on('error', (error: NodeJS.ErrnoException) => {
      this.failure ??= error.code ?? error.message;
    });
  }

  /** After a failure, output is discarded: the rest of the work, such as saving, must still be done. */
  write(text: string): void {
    if (this.failure === null) this.#stream.write(text);
  }

  /** Waits until all output has been written, or has failed. */
  async flush(): Promise<void> {
    if (this.failure === null) await new Promise<void>((resolve) => this.#stream.write('', () => resolve()));
  }

  get isTTY(): boolean {
    return this.#stream.isTTY === true;
  }

  get columns(): number {
    return this.#stream.columns;
  }
}

const stdout = new ProcessOutput(process.stdout);
const stderr = new ProcessOutput(process.stderr);
const interruption = new AbortController();
// The first Ctrl-C lets the work end cleanly. The second finds no handler and kills the process, even if it is busy;
// only a file being written is removed first.
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) {
  process.once(signal, () => {
    interruption.abort();
    stopReading();
    if (!hasTemporaries()) return;
    process.once(signal, () => {
      removeTemporaries();
      process.kill(process.pid, signal);
    });
  });
}

/** Ends any wait for standard input. */
function stopReading(): void {
  if (process.stdin.isTTY) return;
  process.stdin.on('error', () => {});
  process.stdin.destroy(new DOMException('stopped', 'AbortError'));
}

const code = await run(process.argv.slice(2), {
  stdout,
  stderr,
  // Accessed only when needed: it may be closed.
  get stdin() {
    return process.stdin;
  },
  env: process.env,
  signal: interruption.signal,
  reportDir: tmpdir(),
});
await stdout.flush();
if (stdout.failure !== null && stdout.failure !== 'EPIPE') {
  stderr.write(
    `error: standard output could not be written (${stdout.failure}); free some space or print elsewhere\n`,
  );
  process.exitCode = Math.max(code, EXIT.cannotWrite);
} else {
  process.exitCode = code;
}
