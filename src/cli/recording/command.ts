import type { Command } from 'commander';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { RecordingCommandOptions } from './options.ts';

/** Adds `reedtrace recording`. */
export function registerRecording(program: Command, { io, finish }: CommandContext): void {
  program
    .command('recording')
    .summary('check whether a recording is good enough to judge')
    .description(
      'Examines the recording rather than the playing: level, noise, hum, clicks, gaps, room, distance and more. Each problem comes with what it affects and what to do about it.',
    )
    .argument('<audio>', 'a recording, or - for standard input')
    .option('--json', 'print the results as JSON')
    .addHelpText(
      'after',
      examples([
        [
          'reedtrace recording homework.m4a',
          'what is wrong with the recording, and how to make a better one',
        ],
        ['reedtrace recording homework.m4a --json', 'the same for other programs'],
      ]),
    )
    .action(async (path: string, _own: RecordingCommandOptions, self: Command) => {
      const { runRecording } = await import('./run.ts');
      finish(await runRecording(path, self.optsWithGlobals<RecordingCommandOptions>(), io));
    });
}
