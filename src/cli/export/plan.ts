import { stat } from 'node:fs/promises';
import { ReedtraceError } from '../../errors.ts';
import { FORMATS, type FormatName, formatNamed } from '../../export/formats.ts';
import { KeptFiles } from '../../files/kept-files.ts';
import type { CustomHarp } from '../../harp/types.ts';
import { type GivenMusic, readMusicOptions } from '../options/music.ts';
import type { Io } from '../terminal/io.ts';
import type { ExportCommandOptions } from './options.ts';

/** What all takes of one run share. */
export interface ExportPlan {
  readonly formats: readonly FormatName[];
  readonly music: GivenMusic;
  /** A custom tuning or temperament from files, used instead of the take's. */
  readonly custom: CustomHarp;
  /** What is read, and never overwritten, not even with `--force`. */
  readonly inputs: KeptFiles;
}

/**
 * Reads what all takes of one run share, before any of them is processed.
 * @throws ReedtraceError E_USAGE, E_NOT_FOUND, E_NOT_A_FILE, E_TUNING
 */
export async function makePlan(
  paths: readonly string[],
  options: ExportCommandOptions,
  io: Io,
): Promise<ExportPlan> {
  const fromStdin = [...paths, options.words, options.against].filter((path) => path === '-').length;
  if (fromStdin > 1 || (options.against === '-' && paths.length > 1)) {
    throw new ReedtraceError(
      'E_USAGE',
      'standard input can be read only once',
      'name a file for one of them',
    );
  }
  if (paths.includes('-') && options.out === undefined) {
    throw new ReedtraceError(
      'E_USAGE',
      'standard input has no folder to write to',
      'say where to write with `--out`, as in `--out .`',
    );
  }
  await refuseFileName(options.out);
  const formats = readFormats(options.as);
  if (options.against !== undefined && !formats.includes('html')) {
    throw new ReedtraceError(
      'E_USAGE',
      '`--against` is for pages',
      'add `--as html`, or use `reedtrace check` to read the findings',
    );
  }
  const music = await readMusicOptions(options, io);
  return { formats, music, custom: await readCustom(options), inputs: inputsOf(paths, options) };
}

/** A folder is never made by the name of a file: whoever writes `--out song.pdf` wants a file of that name. */
async function refuseFileName(out: string | undefined): Promise<void> {
  const isNamedLikeFile = Object.values(FORMATS).some(({ extension }) =>
    out?.toLowerCase().endsWith(extension),
  );
  if (out === undefined || !isNamedLikeFile || (await isThere(out))) return;
  throw new ReedtraceError(
    'E_USAGE',
    `'${out}' is named like a file, but \`--out\` takes a folder`,
    'name a folder; files in it are named after their takes',
  );
}

const isThere = (path: string): Promise<boolean> =>
  stat(path).then(
    () => true,
    () => false,
  );

function inputsOf(paths: readonly string[], options: ExportCommandOptions): KeptFiles {
  const named: readonly (readonly [path: string | undefined, what: string])[] = [
    [options.words === false ? undefined : options.words, 'the file of words'],
    [options.against, 'the reference'],
    [options.notes, 'the file of notes'],
    [options.recording, 'the recording'],
    [options.tuning, 'the file of the tuning'],
    [options.temperament, 'the file of the temperament'],
    ...paths.map((path) => [path, paths.length === 1 ? 'the take itself' : 'one of the takes'] as const),
  ];
  return new KeptFiles(named.flatMap(([path, what]) => (path === undefined ? [] : [[path, what] as const])));
}

function readFormats(text: string): FormatName[] {
  const formats = text.split(',').map((name) => {
    const format = formatNamed(name);
    if (format !== undefined) return format;
    throw new ReedtraceError(
      'E_USAGE',
      `'${name.trim()}' is not a format that can be written`,
      `use one or more of ${Object.keys(FORMATS).join(', ')}, separated by commas`,
    );
  });
  return [...new Set(formats)];
}

async function readCustom({ tuning, temperament }: ExportCommandOptions): Promise<CustomHarp> {
  const named = tuning ?? temperament;
  if (named === undefined) return {};
  const { isFile, readHarpOptions } = await import('../options/harp.ts');
  if ([tuning, temperament].some((name) => name !== undefined && !isFile(name))) {
    throw new ReedtraceError(
      'E_USAGE',
      `the take names its harp, so '${named}' can't change it`,
      'leave it out; a custom tuning or temperament is a .json file',
    );
  }
  const { custom = {} } = await readHarpOptions({
    ...(tuning === undefined ? {} : { tuning }),
    ...(temperament === undefined ? {} : { temperament }),
  });
  return custom;
}
