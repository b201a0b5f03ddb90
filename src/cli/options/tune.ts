import { type Command, InvalidArgumentError } from 'commander';
import type { TuneChoice } from '../../music/reading/which-part.ts';

/** Which tune and part of a music file to read, from the command line. */
export interface TuneArguments {
  readonly tune?: number;
  readonly part?: string;
  readonly repeats?: boolean;
}

function parseNumber(text: string): number {
  const number = Number(text);
  if (Number.isInteger(number) && number >= 1) return number;
  throw new InvalidArgumentError('Give a whole number of 1 or more.');
}

/** Adds `--tune`, `--part` and `--no-repeats` to a command. */
export function addTuneOptions(command: Command): Command {
  return command
    .option('--tune <number>', 'which tune to read if an ABC file has several', parseNumber)
    .option(
      '--voice, --part <name>',
      'part, voice or track of a score to read, by name or number; the melody if omitted',
    )
    .option('--no-repeats', 'read repeats of a score once, with the last ending, and follow no D.C. or D.S.');
}

export function tuneChoice({ tune, part, repeats }: TuneArguments): TuneChoice {
  return {
    ...(tune === undefined ? {} : { tune }),
    ...(part === undefined ? {} : { part }),
    ...(repeats === undefined ? {} : { repeats }),
  };
}
