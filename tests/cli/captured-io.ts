import { tmpdir } from 'node:os';
import { Readable } from 'node:stream';
import type { Io } from '../../src/cli/terminal/io.ts';

/** A world for a command, whose outputs are kept. Neither output is a terminal unless told. */
export function captureIo(
  changes: Partial<Pick<Io, 'env' | 'signal' | 'reportDir'>> & { tty?: number } = {},
) {
  const { tty, ...rest } = changes;
  const texts = { stdout: '', stderr: '' };
  const output = (name: keyof typeof texts) => ({
    write(text: string) {
      texts[name] += text;
    },
    ...(tty === undefined ? {} : { isTTY: true, columns: tty }),
  });
  const io: Io = {
    stdout: output('stdout'),
    stderr: output('stderr'),
    stdin: Readable.from([]),
    env: {},
    signal: new AbortController().signal,
    reportDir: tmpdir(),
    ...rest,
  };
  return { io, texts };
}
