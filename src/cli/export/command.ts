import { type Command, InvalidArgumentError, Option } from 'commander';
import { addMusicOptions } from '../options/music.ts';
import { addSheetOptions } from '../options/sheet.ts';
import { styleOption } from '../options/style.ts';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { ExportCommandOptions } from './options.ts';

const FEWEST_COLUMNS = 20;

function parseColumns(text: string): number {
  const columns = Number(text);
  if (Number.isInteger(columns) && columns >= FEWEST_COLUMNS) return columns;
  throw new InvalidArgumentError(`Give a whole number of ${FEWEST_COLUMNS} or more.`);
}

/** Adds `reedtrace export`. */
export function registerExport(program: Command, { io, finish }: CommandContext): void {
  const command = program
    .command('export')
    .summary('export takes as tab, notation, MIDI, tables and pictures')
    .description(
      'Exports takes to files next to them: tab (.txt), musicxml, midi (.mid), abc, csv, json, pdf and svg (a sheet with staff, tab, words and the notes on the harp), html (a page to send, with the recording in it) and bends (a chart of the bends).',
    )
    .argument('<take...>', 'takes (.take.json), or - for standard input')
    .option('--as <formats>', 'formats to write, such as tab,musicxml,midi', 'tab')
    .option('--out <folder>', 'folder to write to; next to each take if omitted')
    .option('--force', 'overwrite existing files')
    .option('--title <text>', 'title; the name of the recording if omitted')
    .option('--by <text>', 'composer or source, such as "traditional"');
  addSheetOptions(command);
  command.addOption(
    new Option('--csv-decimal <sign>', 'decimal sign in csv; from your locale if omitted').choices([
      'point',
      'comma',
    ]),
  );
  addMusicOptions(command)
    .option('--no-save', 'do not save words, tempo and metre in the take')
    .option('--lengths', 'write lengths and rests in tab, such as 4:2 and r:1')
    .addOption(
      new Option(
        '--repeats <how>',
        'print a line that is repeated note for note in full each time, or only once',
      )
        .choices(['full', 'once'])
        .default('full'),
    )
    .option('--as-played', 'keep the played timing and pitch in MIDI')
    .option('--no-audio', 'leave the recording out of the page')
    .option('--recording <file>', 'the recording for the page, if it is not next to the take')
    .option(
      '--against <reference>',
      'show on the page how the take compares with this take, recording, tab, MusicXML, MIDI or ABC file',
    )
    .option('--notes <file>', 'text file with remarks on the lines of the tune, such as "2: keep it low"')
    .option('--tuning <file>', 'a JSON file to use instead of the custom tuning in the take')
    .option('--temperament <file>', 'a JSON file to use instead of the custom temperament in the take')
    .option('--columns <number>', 'maximum width of a line of tab', parseColumns, 80)
    .addOption(styleOption('the tab'))
    .addHelpText(
      'after',
      examples([
        [
          'reedtrace export take.take.json --as tab,svg --words verses.txt --lang de',
          'with German words under the notes',
        ],
        [
          'reedtrace export take.take.json --as html --against tune.txt',
          'a page to send to a student, with what to work on',
        ],
      ]),
    )
    .action(async (takes: string[], _own: ExportCommandOptions, self: Command) => {
      const { runExport } = await import('./run.ts');
      finish(await runExport(takes, self.optsWithGlobals<ExportCommandOptions>(), io));
    });
}
