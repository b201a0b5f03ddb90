import type { Command } from 'commander';
import { InvalidArgumentError } from 'commander';
import { ReedtraceError } from '../../errors.ts';
import { readInput } from '../../files/read-input.ts';
import type { CustomHarp } from '../../harp/types.ts';
import { decodeText } from '../../text/decode-text.ts';

/** The harp as named on the command line, not yet checked. */
export interface HarpArguments {
  readonly harp?: string;
  readonly tuning?: string;
  readonly a4?: number;
  readonly temperament?: string;
}

/** The same, checked; what was not named is undefined. */
export interface NamedHarp {
  harp?: string;
  tuning?: string;
  temperament?: string;
  a4Hz?: number;
  /** Read from a file that `--tuning` or `--temperament` named. */
  custom?: CustomHarp | undefined;
}

/** Lowest and highest A4 in Hz that `--a4` accepts. */
const A4_LIMITS_HZ = [400, 480] as const;

function parseA4(text: string): number {
  const hz = Number(text);
  const [lowest, highest] = A4_LIMITS_HZ;
  if (text.trim() === '' || !(hz >= lowest && hz <= highest)) {
    throw new InvalidArgumentError(`Give ${lowest} to ${highest} Hz.`);
  }
  return hz;
}

/** Adds `--harp`, `--tuning`, `--a4` and `--temperament` to a command. */
export function addHarpOptions(command: Command): Command {
  return addTuningOptions(
    command.option('--harp <key>', 'key of the harp, such as C, Bb, F# or "low F"; detected if omitted'),
  );
}

/** Adds `--tuning`, `--a4` and `--temperament` to a command that takes the key in another way. */
export function addTuningOptions(command: Command): Command {
  return command
    .option('--tuning <name>', 'richter, raised-third, country, …, or a JSON file with twenty notes')
    .option('--a4 <hz>', 'pitch of A4 in Hz (400 to 480)', parseA4)
    .option('--temperament <name>', 'equal, just-1st, just-7-limit, …, or a JSON file with twenty cents');
}

/** Parses a JSON file with a custom tuning or temperament. @throws ReedtraceError E_NOT_FOUND, E_TUNING */
export async function readJson(path: string): Promise<unknown> {
  const text = decodeText(await readInput(path, { other: 'give a JSON file' }));
  try {
    return JSON.parse(text);
  } catch (cause) {
    throw new ReedtraceError(
      'E_TUNING',
      `'${path}' is not JSON (${(cause as Error).message})`,
      'correct the file',
      {
        cause,
      },
    );
  }
}

/** True when a tuning or temperament is given as a file. */
export const isFile = (name: string) => /\.json$/i.test(name);

/**
 * Checks the harp options, so that mistakes are reported before long work begins.
 * @throws ReedtraceError E_HARP, E_TUNING, E_NOT_FOUND
 */
export async function readHarpOptions(given: HarpArguments): Promise<NamedHarp> {
  const named: NamedHarp = {};
  const custom: { -readonly [K in keyof CustomHarp]: CustomHarp[K] } = {};
  if (given.harp !== undefined) {
    const { parseHarpKey } = await import('../../harp/keys.ts');
    named.harp = parseHarpKey(given.harp).key;
  }
  if (given.tuning !== undefined) {
    const { layoutById, parseCustomLayout } = await import('../../harp/layouts.ts');
    const layout = isFile(given.tuning)
      ? parseCustomLayout(await readJson(given.tuning))
      : layoutById(given.tuning);
    named.tuning = layout.id;
    if (isFile(given.tuning)) custom.layout = layout;
  }
  if (given.temperament !== undefined) {
    const { parseTemperamentTable, temperamentById } = await import('../../harp/temperaments.ts');
    const temperament = isFile(given.temperament)
      ? parseTemperamentTable(await readJson(given.temperament))
      : temperamentById(given.temperament);
    named.temperament = temperament.id;
    if (isFile(given.temperament)) custom.temperament = temperament;
  }
  if (given.a4 !== undefined) named.a4Hz = given.a4;
  if (custom.layout || custom.temperament) named.custom = custom;
  return named;
}
