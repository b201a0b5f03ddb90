import { readFile } from 'node:fs/promises';
import { readRecording } from '../audio/read.ts';
import { recogniseFormat } from '../audio/sniff.ts';
import { encodeWav } from '../audio/write.ts';
import { ReedtraceError } from '../errors.ts';
import type { PageSound } from '../export/html.ts';
import { pitchContours } from '../export/pitch-contour.ts';
import type { Take } from '../take/schema.ts';
import { recordingOf } from './take-recording.ts';

/** More than this makes no page that can be sent by mail. */
export const MOST_SOUND_BYTES = 20e6;

/** Compressed formats that browsers play as they are. */
const TYPES: Readonly<Record<string, string>> = {
  mp3: 'audio/mpeg',
  m4a: 'audio/mp4',
  flac: 'audio/flac',
  opus: 'audio/ogg',
  vorbis: 'audio/ogg',
  oga: 'audio/ogg',
  webm: 'audio/webm',
};

/**
 * The recording of a take for a page: its own bytes when they are compressed, else as one channel of 16 bits.
 * @returns null with a remark when the page has to do without
 */
export async function loadPageSound(
  takePath: string,
  take: Take,
  given: string | undefined,
  signal: AbortSignal,
): Promise<{ sound: PageSound | null; remark: string | null }> {
  let path: string;
  try {
    path = await recordingOf(takePath, take, given);
  } catch (error) {
    // Named and not there is an error; not beside the take is a page without sound.
    if (!(error instanceof ReedtraceError) || given !== undefined) throw error;
    return { sound: null, remark: `the page has no sound: ${error.message}; ${error.fix}` };
  }
  const { samples, source } = await readRecording(path, { signal });
  const changed =
    source.sha256 === take.source.sha256
      ? null
      : `'${path}' is not the file that the take was made from: times may not fit`;
  const original = await readFile(path);
  const type = TYPES[recogniseFormat(original.subarray(0, 4096), path).decoder];
  let bytes: Uint8Array = original;
  if (type === undefined) {
    const mono = new Float32Array(samples.length);
    samples.read(0, mono);
    bytes = encodeWav(mono, samples.sampleRate, 16);
  }
  if (bytes.length > MOST_SOUND_BYTES) {
    const megabytes = Math.round(bytes.length / 1e6);
    return {
      sound: null,
      remark: `the page has no sound: ${megabytes} MB are too much to embed; compress the recording and name it with \`--recording\``,
    };
  }
  const contours = pitchContours(samples, take.notes);
  return { sound: { type: type ?? 'audio/wav', bytes, contours }, remark: changed };
}
