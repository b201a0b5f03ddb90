import { type Command, InvalidArgumentError, Option } from 'commander';
import { styleOption } from '../options/style.ts';
import { addTuneOptions } from '../options/tune.ts';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { ArrangeCommandOptions } from './options.ts';

function parseLimit(text: string): number {
  const limit = Number(text);
  if (!Number.isInteger(limit) || limit < 1)
    throw new InvalidArgumentError('Give a whole number of 1 or more.');
  return limit;
}

/** Adds `reedtrace arrange`. */
export function registerArrange(program: Command, { io }: CommandContext): void {
  const command = program
    .command('arrange')
    .summary('find easier ways to play a tune, on the same harp or others')
    .description(
      'Tries a tune on harps of other keys and tunings, in other positions and octaves, and ranks the results from easiest to hardest.',
    )
    .argument('<tune>', 'a take, a recording, a tab file, MusicXML, MIDI or ABC; - for standard input')
    .option('--harp <key>', 'key of the harp that a tab file is for')
    .option('--tuning <name>', 'its tuning, by name or as a JSON file with twenty notes');
  addTuneOptions(command)
    .option('--harps <keys>', 'keys of the harps you have, such as C,A,"low F"; all twelve if omitted')
    .option('--tunings <names>', 'tunings to try, by name or as JSON files; all if omitted')
    .addOption(new Option('--bends <which>', 'bends to use').choices(['none', 'draw', 'all']).default('all'))
    .option('--over', 'use overblows and overdraws too')
    .option('--keep-key', 'keep the tune in its key')
    .option('--keep-octave', 'keep the tune in its octave')
    .option('--song-key <key>', 'keynote of the tune, such as D or Am; read or guessed if omitted')
    .addOption(
      new Option('--practice <what>', 'prefer a few well-placed bends to practise').choices(['bends']),
    )
    .option('--weights <file>', 'a JSON file with your own weights')
    .option('--limit <number>', 'how many results to list; 5, or 20 with --json', parseLimit)
    .option('--take <number>', 'save this result as a take, to export or play', parseLimit)
    .option('--out <file>', 'where to save that take; next to the tune if omitted')
    .option('--force', 'overwrite an existing take')
    .addOption(new Option('--json', 'print all results as JSON').conflicts('svg'))
    .option('--svg', 'print a chart of the best harp as SVG, with how often each note is used')
    .addOption(styleOption('tab, read and written'))
    .addHelpText(
      'after',
      examples([
        [
          'reedtrace arrange take.take.json --harps C,A,G --bends draw',
          'the easiest of three harps, no blow bends',
        ],
        [
          'reedtrace arrange tune.txt --harp C --keep-key --tunings richter',
          'the same tune on other Richter harps',
        ],
      ]),
    )
    .action(async (tune: string, _own: ArrangeCommandOptions, self: Command) => {
      const { runArrange } = await import('./run.ts');
      await runArrange(tune, self.optsWithGlobals<ArrangeCommandOptions>(), io);
    });
}
