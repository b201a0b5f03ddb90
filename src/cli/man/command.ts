import type { Command } from 'commander';
import { type CommandContext, examples } from '../terminal/command.ts';
import { describeProgram } from '../terminal/describe.ts';
import { packageVersion } from '../terminal/version.ts';
import { manualPage } from './page.ts';

/** Adds `reedtrace man`. */
export function registerMan(program: Command, { io }: CommandContext): void {
  program
    .command('man')
    .summary('print the manual page')
    .description('Prints the manual page for `man`: the help of every command in one place.')
    .addHelpText(
      'after',
      examples([
        ['reedtrace man | man -l -', 'shows it (Linux; installed globally, `man reedtrace` does)'],
        ['reedtrace man > reedtrace.1', 'keeps it in a file'],
      ]),
    )
    .action(() => {
      const { whole, commands } = describeProgram(program);
      io.stdout.write(manualPage(whole, commands, packageVersion()));
    });
}
