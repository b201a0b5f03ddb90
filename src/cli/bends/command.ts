import { type Command, Option } from 'commander';
import { BEND_TOLERANCE_CENTS } from '../../tab/tolerance.ts';
import { parseCents } from '../options/cents.ts';
import { addDateOptions } from '../options/dates.ts';
import { addHarpOptions } from '../options/harp.ts';
import { styleOption } from '../options/style.ts';
import { addTuneOptions } from '../options/tune.ts';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { BendsCommandOptions } from './options.ts';

/** Adds `reedtrace bends`. */
export function registerBends(program: Command, { io, finish }: CommandContext): void {
  const command = program
    .command('bends')
    .summary('show how well in tune each bend is, and how that changes')
    .description(
      'Shows for each bend how far from its target it is held, how steadily, and whether that changes over the weeks. Takes on harps of different keys count together, hole by hole.',
    )
    .argument('<takes...>', 'takes (.take.json) or recordings, or folders of them');
  addDateOptions(addTuneOptions(addHarpOptions(command)))
    .option('--against <tune>', 'a take, tab, MusicXML, MIDI or ABC that says which bend was meant')
    .option(
      '--tolerance <cents>',
      'count a bend this close to its target as in tune',
      parseCents,
      BEND_TOLERANCE_CENTS,
    )
    .addOption(
      new Option(
        '--judge-by <what>',
        'judge by how the harp is tuned, or by equal temperament with A4 = 440 Hz (or --a4)',
      )
        .choices(['harp', 'equal'])
        .default('harp'),
    )
    .addOption(new Option('--json', 'print all bends as JSON').conflicts(['csv', 'svg']))
    .addOption(new Option('--csv', 'print CSV, one row per note').conflicts(['json', 'svg']))
    .addOption(
      new Option('--svg', 'print the strip plot, and trends over days, as SVG').conflicts(['json', 'csv']),
    )
    .option('--practice', 'add a practice plan of a few minutes for the bends that need it most')
    .option(
      '--html <file>',
      'write a page with the practice plan, its sounds, your own attempts and the charts',
    )
    .option('--force', 'replace the page if it exists')
    .addOption(styleOption('the tab'))
    .addHelpText(
      'after',
      examples([
        ['reedtrace bends lesson.take.json', 'the bends of one take, those that need most work first'],
        [
          'reedtrace bends pupil.take.json --practice --html practice.html',
          'what to practise for a tune, as a page with sound',
        ],
      ]),
    )
    .action(async (takes: string[], _own: BendsCommandOptions, self: Command) => {
      const { runBends } = await import('./run.ts');
      finish(await runBends(takes, self.optsWithGlobals<BendsCommandOptions>(), io));
    });
}
