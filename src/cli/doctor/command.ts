import type { Command } from 'commander';
import { type CommandContext, examples } from '../terminal/command.ts';

/** Adds `reedtrace doctor`. */
export function registerDoctor(program: Command, { io }: CommandContext): void {
  program
    .command('doctor')
    .summary('check that this computer has everything reedtrace needs')
    .description(
      'Checks that this computer has everything it needs: formats, a player, a terminal, fonts, and places to write to. Says what to do if something is missing.',
    )
    .option('--json', 'print the results as JSON')
    .addHelpText(
      'after',
      examples([
        ['reedtrace doctor', 'one line for each check, with what to do if something is missing'],
        ['reedtrace doctor --json', 'the same for programs, or to send with a question'],
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
