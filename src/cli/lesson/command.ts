import { type Command, Option } from 'commander';
import { type CommandContext, examples } from '../terminal/command.ts';
import type { LessonCommandOptions } from './options.ts';

/** Adds `reedtrace lesson`. */
export function registerLesson(program: Command, { io, finish }: CommandContext): void {
  program
    .command('lesson')
    .summary('make one page and one PDF of several takes')
    .description(
      'Makes a lesson of several takes: one page to practise from, with all recordings, and one PDF to print. A folder gives all its takes; lesson.txt in it, or --plan, says their order and titles: "# title" first, then "tune.take.json: The tune" for each, and indented below it notes to its lines, as "2: keep it low".',
    )
    .argument('<takes...>', 'takes (.take.json), or a folder of them')
    .option(
      '--plan <file>',
      'a text file with order, titles and notes; lesson.txt in the folder when left out',
    )
    .option('--title <text>', 'title of the lesson')
    .option('--by <text>', 'who the tunes are by, as "traditional"')
    .option('--name <name>', 'name of the two files', 'lesson')
    .option('--out <folder>', 'where to write; the folder of the first take when left out')
    .option('--easier', 'add the easiest way of playing the first take on its own harp, in its key')
    .option('--once', 'tell a line that is played again, note for note, only once')
    .option('--no-audio', 'leave the recordings out; the tab is the sound then')
    .option('--force', 'replace files that exist')
    .addOption(new Option('--paper <size>', 'paper of the PDF').choices(['a4', 'letter', 'long']))
    .addOption(
      new Option('--style, --tab-style <style>', 'how tab is written')
        .choices(['signs', 'letters', 'arrows'])
        .default('signs'),
    )
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
