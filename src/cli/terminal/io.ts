import type { Readable } from 'node:stream';

/** One of the two outputs: the part of a stream that commands need. */
export interface Output {
  write(text: string): unknown;
  /** True if it is a terminal. */
  readonly isTTY?: boolean;
  /** Width of the terminal; undefined if it is not one. */
  readonly columns?: number;
}

/** Everything outside the program that a command uses; tests pass their own. */
export interface Io {
  /** Results. */
  readonly stdout: Output;
  /** Progress, remarks and errors. */
  readonly stderr: Output;
  readonly stdin: Readable & { readonly isTTY?: boolean };
  readonly env: Readonly<Record<string, string | undefined>>;
  /** Aborted by Ctrl-C. */
  readonly signal: AbortSignal;
  /** Folder for reports of internal errors. */
  readonly reportDir: string;
}

/** Width of text if the output is not a terminal: the usual width of one. */
const DEFAULT_COLUMNS = 80;

/** Columns to wrap results to: those of the terminal, or 80. */
export function columnsOf(output: Output): number {
  return output.isTTY && output.columns ? output.columns : DEFAULT_COLUMNS;
}

/** True when an output may be redrawn in place: a terminal that understands it. */
export function canRedraw(output: Output, env: Io['env']): boolean {
  return output.isTTY === true && env.TERM !== 'dumb';
}

/** True when an output may carry colour: a terminal, with NO_COLOR (no-color.org) unset or empty. */
export function canColour(output: Output, env: Io['env']): boolean {
  return canRedraw(output, env) && !env.NO_COLOR;
}

/** All of standard input. */
export async function readAll(stdin: Io['stdin']): Promise<Buffer> {
  const chunks: Buffer[] = [];
  for await (const chunk of stdin) chunks.push(Buffer.from(chunk));
  return Buffer.concat(chunks);
}
