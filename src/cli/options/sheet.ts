import { type Command, Option } from 'commander';

/** Options of `export` and `lesson` for how a sheet looks. */
export interface SheetArguments {
  readonly paper?: 'a4' | 'letter' | 'long';
  readonly tabPlace: 'row' | 'notes';
}

/** Adds the paper and the place of the tab. */
export function addSheetOptions(command: Command): Command {
  return command
    .addOption(
      new Option('--paper <size>', 'paper size of pdf and svg; long is one endless page').choices([
        'a4',
        'letter',
        'long',
      ]),
    )
    .addOption(
      new Option(
        '--tab-place <where>',
        'place of the tab below the staff: in a row above the words, or right under each note',
      )
        .choices(['row', 'notes'])
        .default('row'),
    );
}
