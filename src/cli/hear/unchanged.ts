import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { pipeline } from 'node:stream/promises';
import { isDeepStrictEqual } from 'node:util';
import { ReedtraceError } from '../../errors.ts';
import { readTake } from '../../take/files/store.ts';
import type { Take } from '../../take/schema.ts';
import type { NamedHarp } from '../options/harp.ts';

async function sha256Of(path: string): Promise<string> {
  const hash = createHash('sha256');
  await pipeline(createReadStream(path), hash);
  return hash.digest('hex');
}

/** True if the harp that was named does not contradict that of the take. */
function sameHarp({ harp }: Take, named: NamedHarp): boolean {
  return (
    isDeepStrictEqual({ ...harp.custom, ...named.custom }, { ...harp.custom }) &&
    (named.harp === undefined || named.harp === harp.key) &&
    (named.tuning === undefined || named.tuning === harp.tuning) &&
    (named.temperament === undefined || named.temperament === harp.temperament) &&
    (named.a4Hz === undefined || named.a4Hz === harp.a4Hz)
  );
}

/**
 * The take that an earlier run made of this same recording (same SHA-256) on such a harp.
 * @returns null if there is none, so the recording must be transcribed
 */
export async function takeOfSame(
  recording: string,
  takePath: string,
  named: NamedHarp,
): Promise<Take | null> {
  try {
    const take = await readTake(takePath);
    // A pipe could block for ever.
    if (!sameHarp(take, named) || !(await stat(recording)).isFile()) return null;
    return (await sha256Of(recording)) === take.source.sha256 ? take : null;
  } catch (error) {
    // No take or no recording: transcribing will report what is wrong.
    if (error instanceof ReedtraceError || (error as NodeJS.ErrnoException).code !== undefined) return null;
    throw error;
  }
}
