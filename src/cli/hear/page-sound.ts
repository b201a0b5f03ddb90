import { readRecording } from '../../audio/read.ts';
import { ReedtraceError } from '../../errors.ts';
import type { PageSound } from '../../export/page/options.ts';
import { pitchContours } from '../../measure/pitch-contour.ts';
import type { Take } from '../../take/schema.ts';
import { recordingOf } from '../files/take-recording.ts';

/** Longer sound makes a page too large to mail (common providers allow about 25 MB; no source). */
const MOST_SOUND_SEC = 30 * 60;

/**
 * The recording of a take for a page, always compressed anew: in one format that all browsers and phones play and that
 * keeps times exact, without the names and places that recorders write into their files.
 * @param absentFix what to do about a recording that isn't there; the error's own if omitted
 * @returns null with a remark if the page has to do without
 * @throws ReedtraceError E_NOT_FOUND for one that was named; what reading it throws
 */
export async function loadPageSound(
  takePath: string,
  take: Take,
  given: string | undefined,
  signal: AbortSignal,
  absentFix?: string,
): Promise<{ sound: PageSound | null; remark: string | null }> {
  let path: string;
  try {
    path = await recordingOf(takePath, take, given);
  } catch (error) {
    // A recording that was named but is missing is an error; one that is not next to the take makes a page without
    // sound.
    if (!(error instanceof ReedtraceError) || given !== undefined) throw error;
    return { sound: null, remark: `the page has no sound: ${error.message}; ${absentFix ?? error.fix}` };
  }
  const { samples, source } = await readRecording(path, { signal });
  if (samples.durationSec > MOST_SOUND_SEC) {
    const minutes = Math.round(samples.durationSec / 60);
    return {
      sound: null,
      remark: `the page has no sound: ${minutes} minutes are too long to send; cut the recording to ${MOST_SOUND_SEC / 60} and transcribe that`,
    };
  }
  const { encodeMp3 } = await import('../../sound/mp3.ts');
  const { evenGain } = await import('../../recording/even-loudness.ts');
  // Teacher and pupil, and all lessons, are equally loud.
  const sound = {
    ...(await encodeMp3(samples, signal, evenGain(samples))),
    contours: pitchContours(samples, take.notes),
  };
  return {
    sound,
    remark:
      source.sha256 === take.source.sha256
        ? null
        : `'${path}' is not the file that the take was made from: times may not match`,
  };
}
