import { access, constants, mkdtemp, rmdir } from 'node:fs/promises';
import { availableParallelism, release, tmpdir, totalmem } from 'node:os';
import { join } from 'node:path';
import { findPlayer, playerAdvice } from '../../sound/play.ts';
import { hasUnicode } from '../../ui/effects/terminal.ts';
import { canColour, type Io } from '../terminal/io.ts';
import { packageVersion } from '../terminal/version.ts';

/** One thing that was checked. */
export interface Finding {
  readonly what: string;
  /** `missing`: some features will not work. */
  readonly state: 'fine' | 'missing';
  readonly said: string;
  /** What to do about it. */
  readonly fix?: string;
}

/** The smallest good terminal for the correction screen. */
const SMALLEST = { columns: 80, rows: 24 };
const GIB = 2 ** 30;

/** Checks everything that reedtrace needs of a computer; changes nothing. */
export async function examine(io: Pick<Io, 'stdout' | 'env'>): Promise<Finding[]> {
  return [
    fine(
      'reedtrace',
      `${packageVersion()} on Node ${process.versions.node}, ${process.platform} ${release()}`,
    ),
    fine('computer', `${availableParallelism()} cores, ${(totalmem() / GIB).toFixed(1)} GiB of memory`),
    await tryTo(
      'listening',
      async () => {
        await Promise.all([import('../../kernel.ts'), import('../../audio/read.ts')]);
        return 'WAV, MP3, M4A, FLAC, Ogg, Opus, WebM, AIFF and CAF are read without any other program';
      },
      'install reedtrace again; from its source, `npm run build`',
    ),
    await tryTo(
      'sheets',
      async () => {
        const { missingLetters } = await import('../../export/sheet/fonts.ts');
        const letters = missingLetters('Aéß');
        if (letters.length > 0) throw new Error(`the letters ${letters.join(' ')} are missing`);
        return 'the fonts for staff, tab and words are included';
      },
      'install reedtrace again',
    ),
    playerFinding(io.env),
    terminalFinding(io),
    await tryTo(
      'temporary files',
      async () => {
        await rmdir(await mkdtemp(join(tmpdir(), 'reedtrace-doctor-')));
        return `can be written in '${tmpdir()}'`;
      },
      'set TMPDIR to a folder of your own',
    ),
    await tryTo(
      'this folder',
      async () => {
        await access('.', constants.W_OK);
        return 'takes can be saved here';
      },
      'go to a folder of your own, or save takes elsewhere with `--out`',
    ),
  ];
}

const fine = (what: string, said: string): Finding => ({ what, state: 'fine', said });

async function tryTo(what: string, look: () => Promise<string>, fix: string): Promise<Finding> {
  try {
    return fine(what, await look());
  } catch (error) {
    return { what, state: 'missing', said: (error as Error).message.split('\n')[0], fix };
  }
}

function playerFinding(env: Io['env']): Finding {
  const player = findPlayer(env, process.platform);
  if (player !== null) return fine('sound', `is played by ${player.command}`);
  const [said, fix] = playerAdvice(process.platform).split(': ');
  return { what: 'sound', state: 'missing', said, fix: `${fix}; everything except playing works without it` };
}

function terminalFinding({ stdout, env }: Pick<Io, 'stdout' | 'env'>): Finding {
  const what = 'terminal';
  if (!stdout.isTTY) return fine(what, 'none here: results are plain text; `reedtrace correct` needs one');
  const columns = stdout.columns ?? 0;
  const signs = hasUnicode(env, process.platform)
    ? 'all symbols'
    : 'plain characters only (the locale is not UTF-8)';
  const said = `${columns} columns, ${canColour(stdout, env) ? 'colours' : 'no colours'}, ${signs}`;
  if (columns >= SMALLEST.columns) return fine(what, said);
  return {
    what,
    state: 'missing',
    said,
    fix: `make the window wider for \`reedtrace correct\`: ${SMALLEST.columns} columns, ${SMALLEST.rows} rows`,
  };
}
