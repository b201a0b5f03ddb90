import { ReedtraceError } from '../../errors.ts';
import type { Problem, Severity } from '../../recording/problem.ts';
import type { Take } from '../../take/schema.ts';
import { recordingOf } from '../files/take-recording.ts';
import { kindOfFile } from '../hear/open-take.ts';
import type { Io } from '../terminal/io.ts';

/** More than two lines about the recording would bury what is said about the playing. */
const MOST = 2;
const WORST_FIRST: readonly Severity[] = ['severe', 'marked', 'slight'];

/**
 * What is wrong with the recording; null if it can't be examined: standard input, or a take without its recording next
 * to it, or with a different one of that name.
 */
export async function recordingProblems(
  path: string,
  take: Take,
  io: Io,
): Promise<readonly Problem[] | null> {
  if (path === '-') return null;
  try {
    const recording = (await kindOfFile(path)) === 'take' ? await recordingOf(path, take) : path;
    const { lookAtRecordingOf } = await import('../../recording/look.ts');
    return (await lookAtRecordingOf(take, recording, io.signal))?.problems ?? null;
  } catch (error) {
    if (error instanceof ReedtraceError && error.code !== 'E_INTERRUPTED') return null;
    throw error;
  }
}

/**
 * The worst problems, one per line, with what is hard to judge because of them; slight ones are left to `reedtrace
 * recording`.
 */
export function recordingLines(problems: readonly Problem[] | null): string[] {
  const told = (problems ?? [])
    .filter(({ severity }) => severity !== 'slight')
    .toSorted((a, b) => WORST_FIRST.indexOf(a.severity) - WORST_FIRST.indexOf(b.severity));
  return told.slice(0, MOST).map(({ message, spoils, severity }) => {
    const [last, ...others] = spoils.toReversed();
    const what = others.length === 0 ? last : `${others.toReversed().join(', ')} and ${last}`;
    return `${message}: ${severity === 'severe' ? "don't rely on" : 'take care with'} the findings on ${what}`;
  });
}
