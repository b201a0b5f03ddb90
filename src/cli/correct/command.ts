import type { Command } from 'commander';
import { addHarpOptions } from '../options/harp.ts';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { CorrectOptions } from './options.ts';

/** Adds `reedtrace correct`. */
export function registerCorrect(program: Command, { io, finish }: CommandContext): void {
  const command = program
    .command('correct')
    .summary('correct a take in a full-screen editor')
    .description(
      'Opens a take in a full-screen editor that lists its keys. A recording is transcribed first. Every change goes into a journal at once, and into the take when you save.',
    )
    .argument('<take>', 'a take, or a recording');
  addHarpOptions(command)
    .option('--recording <file>', 'the recording of the take, if it was moved or renamed')
    .addHelpText(
      'after',
      examples([
        ['reedtrace correct take.take.json', 'opens a take'],
        ['reedtrace correct take.wav --harp A', 'transcribes a recording first, then opens its take'],
      ]),
    )
    .action(async (path: string, _own: unknown, self: Command) => {
      const options = self.optsWithGlobals<CorrectOptions>();
      const { correct } = await import('./run.ts');
      finish(await correct(path, options, io));
    });
}
