import { type Command, Option } from 'commander';
import { BEND_TOLERANCE_CENTS } from '../../tab/tolerance.ts';
import { parseCents } from '../options/cents.ts';
import { addHarpOptions } from '../options/harp.ts';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { BendsCommandOptions } from './options.ts';

/** Adds `reedtrace bends`. */
export function registerBends(program: Command, { io, finish }: CommandContext): void {
  const command = program
    .command('bends')
    .summary('say how well in tune bends are, by bend and over time')
    .description(
      'Says for each bend how far from its target it is held, how steadily, and whether that changes over the weeks. Takes of harps in any key count together, hole by hole.',
    )
    .argument('<takes...>', 'takes (.take.json) or recordings, or folders of them');
  addHarpOptions(command)
    .option(
      '--tolerance <cents>',
      'a bend within this of its target is in tune',
      parseCents,
      BEND_TOLERANCE_CENTS,
    )
    .addOption(
      new Option('--judge-by <what>', 'the harp as it is tuned, or equal steps on A4 = 440 Hz (or --a4)')
        .choices(['harp', 'equal'])
        .default('harp'),
    )
    .addOption(new Option('--json', 'print all bends as JSON').conflicts(['csv', 'svg']))
    .addOption(new Option('--csv', 'print one row a note as CSV').conflicts(['json', 'svg']))
    .addOption(new Option('--svg', 'print the strip plot as an SVG picture').conflicts(['json', 'csv']))
    .addOption(
      new Option('--style, --tab-style <style>', 'how tab is written')
        .choices(['signs', 'letters', 'arrows'])
        .default('signs'),
    )
    .addHelpText(
      'after',
      examples([
        ['reedtrace bends lesson.take.json', 'the bends of one take, what needs most work first'],
        ['reedtrace bends takes/*.take.json --tolerance 20', 'all takes of a month, judged more strictly'],
      ]),
    )
    .action(async (takes: string[], _own: BendsCommandOptions, self: Command) => {
      const { runBends } = await import('./run.ts');
      finish(await runBends(takes, self.optsWithGlobals<BendsCommandOptions>(), io));
    });
}
