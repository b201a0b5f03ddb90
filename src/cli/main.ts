import { tmpdir } from 'node:os';
import type { Output } from './io.ts';
import { run } from './run.ts';

/** An output whose reader may leave early (`| head`): then writing goes on into nothing, and is no error. */
function untilClosed(stream: NodeJS.WriteStream): Output {
  let open = true;
  stream.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error;
    open = false;
  });
  return {
    write: (text) => open && stream.write(text),
    get isTTY() {
      return stream.isTTY === true;
    },
    get columns() {
      return stream.columns;
    },
  };
}

const interruption = new AbortController();
process.once('SIGINT', () => {
  // The first Ctrl-C lets the work end tidily; the second finds no handler and kills.
  interruption.abort();
});

process.exitCode = await run(process.argv.slice(2), {
  stdout: untilClosed(process.stdout),
  stderr: untilClosed(process.stderr),
  stdin: process.stdin,
  env: process.env,
  signal: interruption.signal,
  reportDir: tmpdir(),
});
// Standard input keeps the process alive once it was touched.
process.stdin.unref?.();
