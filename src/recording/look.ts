import { readRecording } from '../audio/read.ts';
import { ReedtraceError } from '../errors.ts';
import { pitchesOf, playableNotes } from '../harp/playable.ts';
import { type Heard, hearPlaying } from '../pipeline.ts';
import type { Take } from '../take/schema.ts';
import { midiToHz } from '../units.ts';
import { Essentia } from './essentia.ts';
import { judgeRecording, type RecordingReport } from './judge-recording.ts';
import type { PlayedSpan } from './sound.ts';
import { WaveCollector } from './wave.ts';

/** A recording and how good it is. */
export interface LookedAt extends RecordingReport {
  readonly file: string;
  readonly durationSec: number;
  readonly sampleRate: number;
  readonly notes: number;
  /** True when only the first quarter of an hour was judged. */
  readonly shortened: boolean;
}

/**
 * Reads a recording and judges it.
 * @param path a file, or `-` for standard input
 * @throws ReedtraceError as `readRecording`
 */
export async function lookAtRecording(
  path: string,
  {
    signal,
    onProgress,
  }: { readonly signal?: AbortSignal; readonly onProgress?: (stage: string, fraction: number) => void },
): Promise<LookedAt> {
  const collector = new WaveCollector();
  const recording = await readRecording(path, {
    ...(signal ? { signal } : {}),
    onProgress: (fraction) => onProgress?.('reading', fraction),
    onSamples: (planar, sampleRate) => collector.push(planar, sampleRate),
  });
  const heard = await hearPlaying(recording.samples, {
    ...(signal ? { signal } : {}),
    ...(onProgress ? { onProgress } : {}),
  }).catch((error: unknown) => {
    // A recording of nothing but talk or silence is judged too.
    if (error instanceof ReedtraceError && error.code === 'E_NOTHING_PLAYED') return null;
    throw error;
  });
  const notes = heard === null ? [] : playedSpans(heard);
  const { wave, sampleRate } = collector.finish();
  onProgress?.('looking at the recording', 0);
  const report = judgeRecording(wave, sampleRate, notes, Essentia.load());
  return {
    ...report,
    file: recording.source.file,
    durationSec: recording.source.durationSec,
    sampleRate,
    notes: notes.length,
    shortened: collector.shortened,
  };
}

/**
 * What is wrong with the recording of a take, which has already been heard; null if the file is a different one.
 * @throws ReedtraceError as `readRecording`
 */
export async function lookAtRecordingOf(
  take: Take,
  path: string,
  signal?: AbortSignal,
): Promise<RecordingReport | null> {
  const collector = new WaveCollector();
  const { source } = await readRecording(path, {
    ...(signal ? { signal } : {}),
    onSamples: (planar, sampleRate) => collector.push(planar, sampleRate),
  });
  if (source.sha256 !== take.source.sha256) return null;
  const harp = playableNotes(take.harp);
  const notes = take.notes.map((note): PlayedSpan => {
    const { onsetSec, offsetSec, f0Hz } = note;
    if (note.holes === undefined) return { onsetSec, offsetSec, f0Hz };
    const allHz = pitchesOf(harp, note).map((midi) => midiToHz(midi, take.harp.a4Hz));
    return { onsetSec, offsetSec, f0Hz, allHz };
  });
  const { wave, sampleRate } = collector.finish();
  return judgeRecording(wave, sampleRate, notes, Essentia.load());
}

/** What was heard as notes. */
export function playedSpans({ events }: Pick<Heard, 'events'>): PlayedSpan[] {
  return events.map(({ onsetSec, offsetSec, midi, set }) => ({
    onsetSec,
    offsetSec,
    f0Hz: midiToHz(midi),
    ...(set === undefined ? {} : { allHz: set.midis.map((each) => midiToHz(each)) }),
  }));
}

/** Stages that `onProgress` names. */
export const LOOKING_STAGES = [
  'reading',
  'hearing pitches',
  'finding notes',
  'looking at the recording',
] as const;
