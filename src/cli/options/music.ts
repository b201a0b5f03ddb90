import { type Command, InvalidArgumentError, Option } from 'commander';
import { ReedtraceError } from '../../errors.ts';
import { readForm } from '../../music/form.ts';
import type { BeatOptions } from '../../music/rhythm/beats.ts';
import type { KeptPart } from '../../take/files/hold.ts';
import type { Io } from '../terminal/io.ts';
import type { GivenWords } from './words.ts';

/** What the player says about beats and words on the command line, not yet checked. */
export interface MusicArguments {
  readonly bpm?: number;
  readonly metre?: string;
  readonly pickup?: number;
  readonly firstBar?: number;
  readonly free?: boolean;
  readonly form?: readonly string[];
  /** A file; false with `--no-words`. */
  readonly words?: string | false;
  readonly lang?: string;
}

/** The same, checked and read. */
export interface GivenMusic {
  /** Empty when nothing was said. */
  readonly beats: BeatOptions;
  /** Number of the note that the first full bar begins with, 1 for the first; null when nothing was said. */
  readonly firstBarNote?: number | null;
  /** Names of the sections, in order; null when nothing was said. */
  readonly form?: readonly string[] | null;
  /** `none` removes the words from the take. */
  readonly words: GivenWords | 'none' | null;
}

/** Bounds of a tempo, in quarter notes a minute: those of the beat finder. */
const TEMPO_RANGE = [36, 250] as const;

function parseTempo(text: string): number {
  const tempo = Number(text);
  if (tempo >= TEMPO_RANGE[0] && tempo <= TEMPO_RANGE[1]) return tempo;
  throw new InvalidArgumentError(`Give quarter notes a minute, ${TEMPO_RANGE[0]} to ${TEMPO_RANGE[1]}.`);
}

const LONGEST_PICKUP = 8;

function parsePickup(text: string): number {
  const beats = Number(text);
  if (text.trim() !== '' && beats >= 0 && beats <= LONGEST_PICKUP && Number.isInteger(4 * beats))
    return beats;
  throw new InvalidArgumentError(
    `Give the quarter notes before the first bar line, 0 to ${LONGEST_PICKUP}: 1, or 0.5 for an eighth.`,
  );
}

function parseNoteNumber(text: string): number {
  const number = Number(text);
  if (Number.isInteger(number) && number >= 1) return number;
  throw new InvalidArgumentError('Give the number of a note, 1 for the first.');
}

function parseForm(text: string): string[] {
  const names = readForm(text);
  if (names !== null) return names;
  throw new InvalidArgumentError(
    'Give a letter for each section, such as AABA, or names with spaces between them.',
  );
}

/** Adds `--bpm`, `--metre`, `--pickup`, `--first-bar`, `--free`, `--words`, `--lang` and `--form` to a command. */
export function addMusicOptions(command: Command): Command {
  return command
    .option('--bpm <tempo>', 'tempo in quarter notes a minute; detected if omitted', parseTempo)
    .option('--metre <metre>', 'metre, such as 3/4; detected if omitted')
    .option(
      '--pickup <beats>',
      'quarter notes before the first bar line, 0 for none; detected if omitted',
      parsePickup,
    )
    .addOption(
      new Option('--first-bar <note>', 'number of the note that begins the first full bar, such as 3')
        .argParser(parseNoteNumber)
        .conflicts(['pickup']),
    )
    .addOption(new Option('--free', 'free time: no bars').conflicts(['metre', 'pickup', 'firstBar']))
    .option(
      '--words <file>',
      'text file with the words, one line per line of the song, to set under the notes and keep in the take; - for standard input',
    )
    .option('--no-words', 'remove the words from the take')
    .option(
      '--lang <code>',
      'language for splitting words into syllables: en, de, fr, es, it, …; none: only at your hyphens; guessed if omitted',
    )
    .option(
      '--form <letters>',
      'sections of the tune, such as AABA or "verse verse bridge verse": matched to the lines by what repeats, and kept as names',
      parseForm,
    );
}

/** True if something was said that changes a take. */
export function changesMusic({ beats, firstBarNote, form, words }: GivenMusic): boolean {
  return (
    words !== null ||
    (form ?? null) !== null ||
    (firstBarNote ?? null) !== null ||
    Object.keys(beats).length > 0
  );
}

/** How the language of the words was chosen, for the player; null when there is nothing to say. */
export function wordsRemark(words: GivenMusic['words']): string | null {
  return words === null || words === 'none' ? null : words.remark;
}

const KEPT_WORDS: Readonly<Record<KeptPart, string>> = {
  beats: 'tempo and bars as you said',
  phrases: 'the lines and sections',
  words: 'the words',
};

/** What was kept in a take, for the player; null for nothing. */
export function keptInWords(kept: readonly KeptPart[]): string | null {
  const said = kept.map((part) => KEPT_WORDS[part]);
  return said.length === 0 ? null : `${said.join(' and ')} are kept in the take, for later commands too`;
}

/**
 * Checks and reads the options for beats and words.
 * @throws ReedtraceError E_USAGE, E_NOT_FOUND, E_NOT_A_FILE
 */
export async function readMusicOptions(options: MusicArguments, io: Io): Promise<GivenMusic> {
  const said = {
    beats: await readBeats(options),
    firstBarNote: options.firstBar ?? null,
    form: options.form ?? null,
  };
  // Commander sets an option with a --no form to true if neither form was given.
  if (options.words === false) return { ...said, words: 'none' };
  if (typeof options.words !== 'string') return { ...said, words: null };
  const { readGivenWords } = await import('./words.ts');
  return { ...said, words: await readGivenWords(options.words, options.lang, io) };
}

async function readBeats({ bpm, metre, pickup, free }: MusicArguments): Promise<BeatOptions> {
  const { parseMetre, TICKS_PER_BEAT } = await import('../../music/rhythm/metre.ts');
  const tempo = {
    ...(bpm === undefined ? {} : { tempoBpm: bpm }),
    ...(pickup === undefined ? {} : { pickupTicks: Math.round(pickup * TICKS_PER_BEAT) }),
  };
  if (free) return { ...tempo, free };
  if (metre === undefined) return tempo;
  const parsed = parseMetre(metre);
  if (parsed !== null) return { ...tempo, metre: parsed };
  throw new ReedtraceError(
    'E_USAGE',
    `'${metre}' is not a metre`,
    'write it as 4/4, 3/4 or 6/8: up to 16 beats of 2, 4, 8 or 16',
  );
}
