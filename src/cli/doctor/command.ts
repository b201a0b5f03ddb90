import type { Command } from 'commander';
import { type CommandContext, examples } from '../terminal/command.ts';

/** Adds `reedtrace doctor`. */
export function registerDoctor(program: Command, { io }: CommandContext): void {
  program
    .command('doctor')
    .summary('look whether all is there that reedtrace needs')
    .description(
      'Looks whether all is there on this computer: formats, player, terminal, fonts, places to write to; and says what to do about what is missing.',
    )
    .option('--json', 'print it as JSON')
    .addHelpText(
      'after',
      examples([
        ['reedtrace doctor', 'a line for each thing, with what to do where one is missing'],
        ['reedtrace doctor --json', 'the same for a program, or to send with a question'],
      ]),
    )
    .action(async ({ json }: { json?: boolean }) => {
      const [{ examine }, { doctorText }] = await Promise.all([import('./examine.ts'), import('./print.ts')]);
      const findings = await examine(io);
      io.stdout.write(
        json
          ? `${JSON.stringify({ format: 'reedtrace-doctor', version: 1, findings }, null, 2)}\n`
          : doctorText(findings),
      );
    });
}
