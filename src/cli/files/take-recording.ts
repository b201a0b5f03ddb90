import { access } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { ReedtraceError } from '../../errors.ts';
import type { Take } from '../../take/schema.ts';

/**
 * Where the recording of a take should be. A take may come from elsewhere, so only a name is used from it, never a
 * path.
 */
export function besideTake(takePath: string, { source }: Pick<Take, 'source'>): string {
  return join(takePath === '-' ? '.' : dirname(takePath), basename(source.file));
}

/**
 * Where the recording of a take is: as given, or else next to the take under the name in the take.
 * @throws ReedtraceError E_NOT_FOUND when it isn't there
 */
export async function recordingOf(
  takePath: string,
  take: Pick<Take, 'source'>,
  given?: string,
): Promise<string> {
  const path = given ?? besideTake(takePath, take);
  try {
    await access(path);
  } catch (cause) {
    throw new ReedtraceError(
      'E_NOT_FOUND',
      `the recording '${path}' of the take does not exist`,
      'name it with `--recording`',
      { cause },
    );
  }
  return path;
}
