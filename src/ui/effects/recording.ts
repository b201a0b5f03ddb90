import { realpath, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import type { TakeSource } from '../../take/schema.ts';
import type { Ears } from '../state/ears.ts';
import type { RecordingState } from '../state/state.ts';

/**
 * Reads the recording of a take, as given or found next to it by name, and checks that it is the same by its content.
 */
export async function loadEars(
  takePath: string,
  source: TakeSource,
  given?: string,
): Promise<{ recording: RecordingState; ears: Ears | null }> {
  const path = given ?? join(dirname(await realpath(takePath)), basename(source.file));
  const info = await stat(path).catch(() => null);
  if (info === null || !info.isFile()) return { recording: 'missing', ears: null };
  const [{ readRecording }, { Ears: OfSamples }] = await Promise.all([
    import('../../audio/read.ts'),
    import('../state/ears.ts'),
  ]);
  try {
    const { samples, source: found } = await readRecording(path);
    if (found.sha256 !== source.sha256) return { recording: 'other', ears: null };
    return { recording: 'ready', ears: new OfSamples(samples) };
  } catch {
    // Unreadable: no sound and no contour, but everything else works.
    return { recording: 'other', ears: null };
  }
}
