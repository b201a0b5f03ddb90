import { Argument, type Command } from 'commander';
import { type CommandContext, examples } from '../terminal/command.ts';
import { describeProgram } from '../terminal/describe.ts';
import { completionScript, HOW_TO, SHELLS, type Shell } from './scripts.ts';

/** Adds `reedtrace completion`. */
export function registerCompletion(program: Command, { io }: CommandContext): void {
  program
    .command('completion')
    .summary('complete commands and options with the Tab key')
    .description(
      'Prints a script that lets your shell complete commands, options and their values with the Tab key.',
    )
    .addArgument(new Argument('<shell>', 'which shell').choices(SHELLS))
    .addHelpText(
      'after',
      examples([
        ['reedtrace completion bash', HOW_TO.bash],
        ['reedtrace completion fish', HOW_TO.fish],
      ]),
    )
    .action((shell: Shell) => {
      io.stdout.write(completionScript(shell, describeProgram(program).commands));
    });
}
