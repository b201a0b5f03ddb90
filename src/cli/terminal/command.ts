import type { Command } from 'commander';
import type { ExitCode } from '../../errors.ts';
import type { Io } from './io.ts';

/** Options that every command understands. */
export interface CommonOptions {
  readonly quiet?: boolean;
  readonly debug?: boolean;
}

/** What a command is given to work with, beside its own arguments. */
export interface CommandContext {
  readonly io: Io;
  /** Tells the exit code when a command ends without throwing; without a call it is 0. */
  finish(code: ExitCode): void;
}

/**
 * Adds one command to the program. Each command's file exports one such function; it may load nothing heavy, since
 * `--help` runs it: the work is imported inside the action.
 */
export type RegisterCommand = (program: Command, context: CommandContext) => void;

/** Help text that ends a command's help: its two examples, as `[command, what it does]`. */
export function examples(rows: readonly (readonly [command: string, does: string])[]): string {
  return `\nExamples:\n${rows.map(([command, does]) => `  $ ${command}\n      ${does}`).join('\n')}`;
}
