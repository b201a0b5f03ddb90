import { basename, dirname, join } from 'node:path';
import { type ArrangeOptions, arrange } from '../../arrange/arrange.ts';
import { type Tune, tuneFromMelody } from '../../arrange/tune.ts';
import { DEFAULT_WEIGHTS, parseArrangeWeights } from '../../arrange/weights.ts';
import { ReedtraceError } from '../../errors.ts';
import { checkTarget } from '../../files/check-target.ts';
import { KeptFiles } from '../../files/kept-files.ts';
import { writeWhole } from '../../files/write-whole.ts';
import { parseHarpKey } from '../../harp/keys.ts';
import { type Layout, layoutById, parseCustomLayout } from '../../harp/layouts.ts';
import { layoutOf, playableNotes } from '../../harp/playable.ts';
import { parsePitchClass } from '../../harp/positions.ts';
import { melodyFromTake } from '../../music/reading/take.ts';
import { formatTake } from '../../take/format.ts';
import type { Take } from '../../take/schema.ts';
import { counted } from '../../text/counted.ts';
import { checkNotKept, takesAndRecordings } from '../files/kept-inputs.ts';
import { readTuneFile, type TuneFile } from '../files/tune-file.ts';
import { isFile, type NamedHarp, readHarpOptions, readJson } from '../options/harp.ts';
import { tuneChoice } from '../options/tune.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';
import { arrangeJson, arrangeSvg } from './document.ts';
import type { ArrangeCommandOptions } from './options.ts';
import { type ArrangeSource, arrangeText, byTab } from './print.ts';

const TEXT_LIMIT = 5;
const JSON_LIMIT = 20;

/** Reads, lays out, prints. */
export async function runArrange(path: string, options: ArrangeCommandOptions, io: Io): Promise<void> {
  const harp = await readHarpOptions(options);
  const search = await readSearch(options);
  const tonic = options.songKey === undefined ? undefined : parseSongKey(options.songKey);
  const take = await takeOf(path, harp, options, io);
  const file =
    take === null
      ? await readTuneFile(path, harp, options.tabStyle, io.stdin, tuneChoice(options))
      : tuneOfTake(basename(path), take);
  const tune = tuneFromMelody(file.melody, tonic);
  if (!options.quiet) remark(tune, file.melody.remarks, io);
  const arrangement = arrange(tune, { ...search, ...(file.played ? { played: file.played } : {}) });
  const limit = options.limit ?? (options.json ? JSON_LIMIT : TEXT_LIMIT);
  const source = {
    tune,
    arrangement,
    limit,
    style: options.tabStyle,
    name: file.melody.title ?? oneLine(file.name),
  };
  if (options.take !== undefined) await writeArranged(path, options.take, source, file, take, options, io);
  else if (options.json) {
    io.stdout.write(arrangeJson({ ...source, played: file.played }));
  } else if (options.svg) {
    if (arrangement.candidates.length === 0) throw nothingFits();
    io.stdout.write(arrangeSvg({ ...source, played: file.played }));
  } else {
    io.stdout.write(arrangeText({ ...source, played: file.played }, columnsOf(io.stdout)));
  }
}

/** The take from a take file or a recording, which is transcribed first; null for other files. */
async function takeOf(
  path: string,
  harp: NamedHarp,
  options: ArrangeCommandOptions,
  io: Io,
): Promise<Take | null> {
  if (path === '-') return null;
  const { kindOfFile, openTake } = await import('../hear/open-take.ts');
  if ((await kindOfFile(path)) === 'other') return null;
  return openTake(path, harp, io, { quiet: options.quiet ?? false });
}

function tuneOfTake(name: string, take: Take): TuneFile {
  const layout = layoutOf(take.harp);
  const { melody, tab } = melodyFromTake(take, playableNotes({ ...take.harp }));
  return { name, melody, played: { harp: parseHarpKey(take.harp.key), layout, tab } };
}

const EXISTS_FIX = 'add `--force` to replace it, or `--out` to write elsewhere';

/** Writes one result of the list as a take, and says what changes. */
async function writeArranged(
  path: string,
  place: number,
  { arrangement, tune, style }: Omit<ArrangeSource, 'played'>,
  { melody, played, name }: TuneFile,
  take: Take | null,
  options: ArrangeCommandOptions,
  io: Io,
): Promise<void> {
  const chosen = byTab(arrangement.candidates)[place - 1]?.[0];
  if (chosen === undefined) {
    const { length } = byTab(arrangement.candidates);
    throw new ReedtraceError(
      'E_USAGE',
      `the list has no result ${place}`,
      length === 0 ? nothingFits().fix : `choose one of 1 to ${length}`,
    );
  }
  const title = melody.title ?? name.replace(/(\.take)?\.[^.]+$/i, '');
  const file =
    options.out ??
    join(dirname(path), `${basename(path).replace(/(\.take)?\.[^.]+$/i, '')}-${place}.take.json`);
  const { arrangedTake, changesInWords } = await import('../../arrange/arranged-take.ts');
  const written = arrangedTake(chosen, tune, melody, take, title);
  const writing = { replace: options.force ?? false, existsFix: EXISTS_FIX };
  const kept = new KeptFiles([
    [path, 'the tune itself'],
    ...(take === null ? [] : takesAndRecordings([{ path, take }])),
  ]);
  await checkNotKept([file], kept, 'write elsewhere with `--out`');
  await checkTarget(file, writing);
  await writeWhole([{ path: file, content: formatTake(written), ...writing }]);
  io.stdout.write(`${oneLine(file)}\n`);
  if (options.quiet) return;
  const said =
    played === undefined
      ? `${counted(written.notes.length, 'note')} on the ${chosen.harp.key} harp, ${chosen.layout.name}`
      : changesInWords(chosen, played.tab, { key: played.harp.key, tuning: played.layout.id }, style);
  io.stderr.write(`remark: ${oneLine(said)}\n`);
}

async function readSearch(options: ArrangeCommandOptions): Promise<ArrangeOptions> {
  const harps = options.harps === undefined ? undefined : listOf(options.harps).map(parseHarpKey);
  const tunings = options.tunings === undefined ? undefined : await readTunings(listOf(options.tunings));
  return {
    ...(harps ? { harps } : {}),
    ...(tunings ? { tunings } : {}),
    skill: { bends: options.bends, over: options.over ?? false },
    keepKey: options.keepKey ?? false,
    ...(options.keepOctave ? { octaves: [0] } : {}),
    weights:
      options.weights === undefined ? DEFAULT_WEIGHTS : parseArrangeWeights(await readJson(options.weights)),
    practiceBends: options.practice === 'bends',
  };
}

function listOf(text: string): string[] {
  const items = text.split(',').map((item) => item.trim());
  if (items.includes('')) {
    throw new ReedtraceError(
      'E_USAGE',
      `'${text}' is not a list`,
      'put commas between the names, as in C,A,G',
    );
  }
  return items;
}

async function readTunings(names: readonly string[]): Promise<Layout[]> {
  const layouts: Layout[] = [];
  for (const name of names) {
    layouts.push(isFile(name) ? { ...parseCustomLayout(await readJson(name)), id: name } : layoutById(name));
  }
  return layouts;
}

/** Pitch class of the keynote: `Am` and `A minor` have that of `A`. */
function parseSongKey(text: string): number {
  const tonic = parsePitchClass(text.trim().replace(/\s*(?:m|min|minor|maj|major)$/, ''));
  if (tonic !== null) return tonic;
  throw new ReedtraceError(
    'E_USAGE',
    `'${text}' is not the key of a tune`,
    'use a note name, as in D, Bb or F#m',
  );
}

function remark(tune: Tune, remarks: readonly string[], io: Io): void {
  const all = [
    ...remarks,
    ...(tune.tonicGuessed ? ['the keynote was guessed from the notes; name it with --song-key'] : []),
    ...(tune.tempoAssumed ? ['no tempo is given: assuming 100 beats a minute'] : []),
  ];
  for (const text of all) io.stderr.write(`remark: ${oneLine(text)}\n`);
}

function nothingFits(): ReedtraceError {
  return new ReedtraceError(
    'E_USAGE',
    'none of these harps has even half the notes of the tune',
    'leave out --harps or --tunings, or allow more with --bends all --over',
  );
}
