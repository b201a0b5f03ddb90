import { LIMITS, tooLarge } from '../limits.ts';
import type { Mixdown } from './mixdown.ts';

/** If this much of the announced sound or more is missing, it is remarked on; codecs' padding is less. Seconds. */
const SHORT_BY_SEC = 0.15;

/** @throws ReedtraceError E_TOO_LARGE */
export function checkLength(file: string, sec: number): void {
  if (sec <= LIMITS.recordingSec.most) return;
  throw tooLarge(file, 'lasts', 'recordingSec', sec, 'cut it into shorter recordings');
}

/** A remark if much of the sound that a file announces is missing. */
export function shortRemark(mixdown: Mixdown, announcedSec: number | null): string[] {
  if (announcedSec === null) return [];
  const readSec = mixdown.frames / mixdown.sampleRate;
  if (announcedSec - readSec < SHORT_BY_SEC) return [];
  return [`the file ends early: ${seconds(readSec)} of the announced ${seconds(announcedSec)} could be read`];
}

/** A time for remarks. */
export function seconds(value: number): string {
  return `${value < 10 ? value.toFixed(2) : value.toFixed(1)} s`;
}
