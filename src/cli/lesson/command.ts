import type { Command } from 'commander';
import { addSheetOptions } from '../options/sheet.ts';
import { styleOption } from '../options/style.ts';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { LessonCommandOptions } from './options.ts';

/** Adds `reedtrace lesson`. */
export function registerLesson(program: Command, { io, finish }: CommandContext): void {
  const command = program
    .command('lesson')
    .summary('make a lesson from several takes: a page and a PDF')
    .description(
      'Makes a lesson from several takes: a page to practise with, recordings included, and a PDF to print. A folder means all takes in it; lesson.txt there, or --plan, sets their order and titles: "# title" first, then "tune.take.json: The tune" for each, and indented below it remarks on its lines, such as "2: keep it low".',
    )
    .argument('<takes...>', 'takes (.take.json), or a folder of them')
    .option(
      '--plan <file>',
      'a text file with order, titles and remarks; lesson.txt in the folder if omitted',
    )
    .option('--title <text>', 'title of the lesson')
    .option('--by <text>', 'composer or source, such as "traditional"')
    .option('--name <name>', 'name of the two files', 'lesson')
    .option('--out <folder>', 'folder to write to; that of the first take if omitted')
    .option('--easier', 'add the easiest way to play the first take on the same harp in the same key')
    .option('--once', 'show a repeated line only once')
    .option('--no-audio', 'leave the recordings out; the page then plays the tab')
    .option('--force', 'overwrite existing files');
  addSheetOptions(command)
    .addOption(styleOption('the tab'))
    .addHelpText(
      'after',
      examples([
        ['reedtrace lesson lessons --easier', 'all takes of a folder, and an easier way to play the first'],
        ['reedtrace lesson tune.take.json variation.take.json --title "Week 3"', 'two takes in this order'],
      ]),
    )
    .action(async (takes: string[], _own: LessonCommandOptions, self: Command) => {
      const { runLesson } = await import('./run.ts');
      finish(await runLesson(takes, self.optsWithGlobals<LessonCommandOptions>(), io));
    });
}
