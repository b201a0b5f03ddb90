import { ReedtraceError } from '../../errors.ts';
import { LIMITS, overLimit } from '../../limits.ts';

/** Other rates are taken for damage: 4 kHz is too low for a harmonica, and no converter runs above 768 kHz. */
const LOWEST_RATE_HZ = 4_000;
const HIGHEST_RATE_HZ = LIMITS.sampleRateHz.most;

/** @param what what is wrong, as the second half of a sentence */
export function damaged(file: string, what: string, cause?: unknown): ReedtraceError {
  return new ReedtraceError(
    'E_DAMAGED_AUDIO',
    `'${file}' is damaged: ${what}`,
    'copy it from the recorder again, or export it as 16-bit WAV',
    { cause },
  );
}

/** @throws ReedtraceError E_DAMAGED_AUDIO for a rate or a number of channels that no recording has */
export function checkFormat(file: string, sampleRate: number, channels: number): void {
  if (!(sampleRate >= LOWEST_RATE_HZ && sampleRate <= HIGHEST_RATE_HZ)) {
    throw damaged(
      file,
      `its header announces a sample rate of ${sampleRate} Hz (${LOWEST_RATE_HZ} to ${HIGHEST_RATE_HZ} are read)`,
    );
  }
  if (channels > LIMITS.channels.most) {
    throw damaged(file, `its header announces ${overLimit('channels', channels)}`);
  }
  if (!(channels >= 1)) throw damaged(file, `its header announces ${channels} channels`);
}
