import { type ArrangeOptions, arrange } from '../../arrange/arrange.ts';
import { type Tune, tuneFromMelody } from '../../arrange/tune.ts';
import { DEFAULT_WEIGHTS, parseWeights } from '../../arrange/weights.ts';
import { ReedtraceError } from '../../errors.ts';
import { parseHarpKey } from '../../harp/keys.ts';
import { type Layout, layoutById, parseCustomLayout } from '../../harp/layouts.ts';
import { parsePitchClass } from '../../harp/positions.ts';
import { readTuneFile } from '../files/tune-file.ts';
import { isFile, readHarpOptions, readJson } from '../options/harp.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';
import { arrangeJson, arrangeSvg } from './document.ts';
import type { ArrangeCommandOptions } from './options.ts';
import { arrangeText } from './print.ts';

const TEXT_LIMIT = 5;
const JSON_LIMIT = 20;

/** Reads, lays out, prints. */
export async function runArrange(path: string, options: ArrangeCommandOptions, io: Io): Promise<void> {
  const harp = await readHarpOptions(options);
  const search = await readSearch(options);
  const tonic = options.songKey === undefined ? undefined : parseSongKey(options.songKey);
  const file = await readTuneFile(path, harp, options.tabStyle, io.stdin);
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
  if (options.json) {
    io.stdout.write(arrangeJson({ ...source, played: file.played }));
  } else if (options.svg) {
    if (arrangement.candidates.length === 0) throw nothingFits();
    io.stdout.write(arrangeSvg({ ...source, played: file.played }));
  } else {
    io.stdout.write(arrangeText({ ...source, played: file.played }, columnsOf(io.stdout)));
  }
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
    weights: options.weights === undefined ? DEFAULT_WEIGHTS : parseWeights(await readJson(options.weights)),
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

/** `Am` and `A minor` have the keynote of `A`. */
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
    ...(tune.tempoAssumed ? ['no tempo is given: 100 beats a minute are assumed'] : []),
  ];
  for (const text of all) io.stderr.write(`remark: ${oneLine(text)}\n`);
}

function nothingFits(): ReedtraceError {
  return new ReedtraceError(
    'E_USAGE',
    'no harp of those asked for holds even half of the tune',
    'leave out --harps or --tunings, or allow more with --bends all --over',
  );
}
