import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import type { Take } from '../../take/schema.ts';
import { besideTake } from '../files/take-recording.ts';
import type { GivenDate } from '../options/dates.ts';

/** Evidence of when a take was played. */
export type DateFrom = 'option' | 'recording' | 'name' | 'file';

/** When a take was played. */
export interface PlayedOn {
  /** `YYYY-MM-DD` */
  readonly date: string;
  readonly from: DateFrom;
}

const DATE = /(?<!\d)(20\d\d)[-_.]?(0[1-9]|1[0-2])[-_.]?(0[1-9]|[12]\d|3[01])(?!\d)/;

/**
 * The day on which a take was played: from the player, else the recording's metadata, else the name of take or
 * recording (where phones and recorders put it), else the date of the file.
 * @returns null if there is no evidence
 */
export async function playedOn(
  path: string,
  take: Pick<Take, 'source'>,
  given: readonly GivenDate[] = [],
): Promise<PlayedOn | null> {
  const { source } = take;
  const names = [path, basename(path), source.file];
  const said =
    given.find(({ name }) => name !== null && names.includes(name)) ??
    given.find(({ name }) => name === null);
  if (said !== undefined) return { date: said.day, from: 'option' };
  const recorded = source.recordedOn ?? (path === '-' ? null : await ofRecording(path, take));
  if (recorded !== null) return { date: recorded, from: 'recording' };
  const named = DATE.exec(basename(path)) ?? DATE.exec(source.file);
  if (named) return { date: `${named[1]}-${named[2]}-${named[3]}`, from: 'name' };
  if (path === '-') return null;
  return stat(path).then(
    ({ mtime }): PlayedOn => ({ date: mtime.toISOString().slice(0, 10), from: 'file' }),
    () => null,
  );
}

/** The day from the recording next to a take: takes from older programs don't hold it. */
async function ofRecording(path: string, take: Pick<Take, 'source'>): Promise<string | null> {
  const { readRecordedOn } = await import('../../audio/read.ts');
  return readRecordedOn(besideTake(path, take));
}
