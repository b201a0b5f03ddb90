import { type Command, InvalidArgumentError, Option } from 'commander';
import { addTuneOptions } from '../options/tune.ts';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { ArrangeCommandOptions } from './options.ts';

function parseLimit(text: string): number {
  const limit = Number(text);
  if (!Number.isInteger(limit) || limit < 1)
    throw new InvalidArgumentError('It is a whole number from 1 up.');
  return limit;
}

/** Adds `reedtrace arrange`. */
export function registerArrange(program: Command, { io }: CommandContext): void {
  const command = program
    .command('arrange')
    .summary('lay a tune on other harps, easiest first')
    .description(
      'Lays a tune on harps of other keys and tunings, in other positions and octaves, and ranks them by how hard they are to play.',
    )
    .argument('<tune>', 'a take, a recording, a tab file, MusicXML, MIDI or ABC; - for standard input')
    .option('--harp <key>', 'harp that a tab file is written for')
    .option('--tuning <name>', 'its tuning, by name or as a JSON file with twenty notes');
  addTuneOptions(command)
    .option('--harps <keys>', 'harps at hand, as C,A,"low F"; all twelve keys when left out')
    .option('--tunings <names>', 'tunings to try, by name or as JSON files; all when left out')
    .addOption(new Option('--bends <which>', 'bends to use').choices(['none', 'draw', 'all']).default('all'))
    .option('--over', 'use overblows and overdraws too')
    .option('--keep-key', 'leave the tune in its key')
    .option('--keep-octave', 'leave the tune in its octave')
    .option('--song-key <key>', 'keynote of the tune, as D or Am; read or guessed when left out')
    .addOption(
      new Option('--practice <what>', 'look for a few well-placed bends to learn on').choices(['bends']),
    )
    .option('--weights <file>', 'a JSON file with weights of your own')
    .option('--limit <number>', 'how many to list; 5, or 20 with --json', parseLimit)
    .option('--take <number>', 'write this one of the list as a take, for sheet, page and play', parseLimit)
    .option('--out <file>', 'where to write the take; beside the tune when left out')
    .option('--force', 'replace the take if it exists')
    .addOption(new Option('--json', 'print all that was found as JSON').conflicts('svg'))
    .option('--svg', 'print the chart of the best harp, its notes counted, as an SVG picture')
    .addOption(
      new Option('--style, --tab-style <style>', 'how tab is read and written')
        .choices(['signs', 'letters', 'arrows'])
        .default('signs'),
    )
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
