import { type Command, InvalidArgumentError, Option } from 'commander';
import { addMusicOptions } from '../options/music.ts';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { ExportCommandOptions } from './options.ts';

const FEWEST_COLUMNS = 20;

function parseColumns(text: string): number {
  const columns = Number(text);
  if (Number.isInteger(columns) && columns >= FEWEST_COLUMNS) return columns;
  throw new InvalidArgumentError(`It is a whole number from ${FEWEST_COLUMNS} up.`);
}

/** Adds `reedtrace export`. */
export function registerExport(program: Command, { io, finish }: CommandContext): void {
  const command = program
    .command('export')
    .summary('write takes as tab, notation, MIDI, tables and pictures')
    .description(
      'Writes takes as files for elsewhere, beside each take: tab (.txt), musicxml, midi (.mid), abc, csv, json, pdf and svg (a sheet with staff, tab, words and the notes on the harp), html (a page to send, with the recording in it) and bends (a chart of the bends).',
    )
    .argument('<take...>', 'takes (.take.json), or - for standard input')
    .option('--as <formats>', 'what to write, as tab,musicxml,midi', 'tab')
    .option('--out <folder>', 'where to write; beside each take when left out')
    .option('--force', 'replace files that exist')
    .option('--title <text>', 'title; the name of the recording when left out')
    .option('--by <text>', 'who the tune is by, as "traditional"')
    .addOption(
      new Option('--paper <size>', 'paper of pdf and svg; long is one page without end').choices([
        'a4',
        'letter',
        'long',
      ]),
    );
  command.addOption(
    new Option('--csv-decimal <sign>', 'sign before decimals in csv; by your locale when left out').choices([
      'point',
      'comma',
    ]),
  );
  addMusicOptions(command)
    .option('--no-save', 'leave the take as it is: words, tempo and metre are for this time only')
    .option('--lengths', 'write lengths and rests in tab, as 4:2 and r:1')
    .option('--as-played', 'MIDI with times and pitches as played')
    .option('--no-audio', 'leave the recording out of the page')
    .option('--recording <file>', 'the recording for the page, when it is not beside the take')
    .option(
      '--against <reference>',
      'show on the page what check finds against this take, recording, tab, MusicXML, MIDI or ABC',
    )
    .option('--notes <file>', 'what to say to the lines of the tune on the page, as "2: keep it low"')
    .option('--tuning <file>', 'a JSON file to use instead of the tuning of your own that the take holds')
    .option('--temperament <file>', 'the same of a temperament of your own')
    .option('--columns <number>', 'longest line of tab', parseColumns, 80)
    .addOption(
      new Option('--style, --tab-style <style>', 'how tab is written')
        .choices(['signs', 'letters', 'arrows'])
        .default('signs'),
    )
    .addHelpText(
      'after',
      examples([
        [
          'reedtrace export take.take.json --as tab,svg --words verses.txt --lang de',
          'with words under the notes, split as German',
        ],
        [
          'reedtrace export take.take.json --as html --against tune.txt',
          'a page to send, with what to work on',
        ],
      ]),
    )
    .action(async (takes: string[], _own: ExportCommandOptions, self: Command) => {
      const { runExport } = await import('./run.ts');
      finish(await runExport(takes, self.optsWithGlobals<ExportCommandOptions>(), io));
    });
}
