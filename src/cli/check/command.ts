import { type Command, InvalidArgumentError, Option } from 'commander';
import { BEND_TOLERANCE_CENTS } from '../../tab/tolerance.ts';
import { parseCents } from '../options/cents.ts';
import { addDateOptions } from '../options/dates.ts';
import { addHarpOptions } from '../options/harp.ts';
import { styleOption } from '../options/style.ts';
import { addTuneOptions } from '../options/tune.ts';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { CheckCommandOptions } from './options.ts';

function parseNumber(lowest: number, highest: number, what: string): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (text.trim() === '' || !(value >= lowest && value <= highest)) {
      throw new InvalidArgumentError(`Give ${what} from ${lowest} to ${highest}.`);
    }
    return value;
  };
}

/** `3` or `2-4`. */
function parseLines(text: string): [first: number, last: number] {
  const match = /^(\d+)(?:-(\d+))?$/.exec(text.trim());
  const first = Number(match?.[1]);
  const last = Number(match?.[2] ?? match?.[1]);
  if (first >= 1 && last >= first) return [first, last];
  throw new InvalidArgumentError('Give the number of a line, such as 3, or of several, such as 2-4.');
}

/** Adds `reedtrace check`. */
export function registerCheck(program: Command, { io, finish }: CommandContext): void {
  const command = program
    .command('check')
    .summary("compare a student's take with a reference")
    .description(
      'Shows where a student differs from the reference in notes, timing, bends and second reeds, what to work on first, and what went well.',
    )
    .argument(
      '<student...>',
      'a take (.take.json) or a recording; give several for one pupil over several weeks, or a folder for a class, each file named after its pupil',
    )
    .requiredOption('--against <reference>', 'a take, a recording, a tab file, MusicXML, MIDI or ABC');
  addDateOptions(addTuneOptions(addHarpOptions(command)))
    .option('--before <take>', 'an earlier take of the same student, to show what got better or worse')
    .option(
      '--line <number>',
      'judge one line of the reference, such as 3, or several, such as 2-4; detected if omitted',
      parseLines,
    )
    .option('--strict', 'count the right pitch from another hole as wrong')
    .addOption(
      new Option(
        '--judge-by <what>',
        'judge by how the harp is tuned, or by equal temperament with A4 = 440 Hz (or --a4)',
      )
        .choices(['harp', 'equal'])
        .default('harp'),
    )
    .option(
      '--bend-tolerance <cents>',
      'count a bend this close to its target as good',
      parseCents,
      BEND_TOLERANCE_CENTS,
    )
    .option(
      '--time-tolerance <seconds>',
      'count a note this close to its time as in time',
      parseNumber(0.02, 1, 'a time in seconds'),
      0.1,
    )
    .option(
      '--leak-from <dB>',
      'count a second reed at this level or above as a fault',
      parseNumber(-40, 0, 'a level in dB'),
      -20,
    )
    .option('--advice-weights <file>', 'a JSON file with your own weights for what comes first (see --json)')
    .option('--pass <score>', 'exit with code 1 below this score', parseNumber(0, 100, 'a score'))
    .option('--weeks', 'treat a folder as one pupil over the weeks, not as a class')
    .addOption(new Option('--json', 'print all findings as JSON').conflicts(['csv', 'svg']))
    .addOption(
      new Option('--csv', 'for a class or for weeks: print a table as CSV').conflicts(['json', 'svg']),
    )
    .addOption(new Option('--svg', 'for weeks: print the chart as SVG').conflicts(['json', 'csv']))
    .option(
      '--out <folder>',
      'for a class or for weeks: write pages, CSV and JSON to this folder; a second run continues where the first stopped',
    )
    .addOption(styleOption('a tab file'))
    .addHelpText(
      'after',
      examples([
        ['reedtrace check homework.m4a --harp C --against tune.txt', 'a recording against a tab file'],
        [
          'reedtrace check anna/*.m4a --harp C --against tune.txt --out weeks',
          'one pupil over the weeks: trends, a chart and a page',
        ],
      ]),
    )
    .action(async (student: string[], _own: CheckCommandOptions, self: Command) => {
      const { runCheck } = await import('./run.ts');
      finish(await runCheck(student, self.optsWithGlobals<CheckCommandOptions>(), io));
    });
}
