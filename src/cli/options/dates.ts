import { type Command, InvalidArgumentError } from 'commander';

/** A day that the player gives: for one file, or for all files without a date. */
export interface GivenDate {
  /** Name of the file; null for all. */
  readonly name: string | null;
  /** `YYYY-MM-DD` */
  readonly day: string;
}

export interface DateArguments {
  readonly date?: readonly GivenDate[];
}

function collect(text: string, before: readonly GivenDate[] = []): readonly GivenDate[] {
  const [, name, day] = /^(?:(.+)=)?(\d{4}-\d\d-\d\d)$/.exec(text.trim()) ?? [];
  const time = day === undefined ? Number.NaN : Date.parse(day);
  if (Number.isNaN(time) || new Date(time).toISOString().slice(0, 10) !== day)
    throw new InvalidArgumentError(
      'Give a day such as 2026-03-05, or a file and its day, lesson.m4a=2026-03-05.',
    );
  return [...before, { name: name ?? null, day }];
}

/** Adds `--date`, which may be given several times. */
export function addDateOptions(command: Command): Command {
  return command.option(
    '--date <day>',
    'day it was played, such as 2026-03-05; for one of several takes, lesson.m4a=2026-03-05; read from the recording if omitted',
    collect,
  );
}
