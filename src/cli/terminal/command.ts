import type { Command } from 'commander';
import type { ExitCode } from '../../errors.ts';
import type { Io } from './io.ts';

/** Options of every command. */
export interface CommonOptions {
  readonly quiet?: boolean;
  readonly debug?: boolean;
}

/** What a command gets besides its own arguments. */
export interface CommandContext {
  readonly io: Io;
  /** Sets the exit code of a command that ends without throwing; 0 if not called. */
  finish(code: ExitCode): void;
}

/**
 * Adds one command to the program. Each command's file exports one such function; it may load nothing heavy, since
 * `--help` runs it: the work is imported inside the action.
 */
export type RegisterCommand = (program: Command, context: CommandContext) => void;

/** The end of a command's help: two examples, as `[command, what it does]`. */
export function examples(rows: readonly (readonly [command: string, does: string])[]): string {
  return `\nExamples:\n${rows.map(([command, does]) => `  $ ${command}\n      ${does}`).join('\n')}`;
}
