import { Samples } from '../audio/samples.ts';
import { findHum, findNoise, findPumping } from './background.ts';
import { findBandwidth } from './band.ts';
import { findClicks, findClipping, findCuts, findDropouts } from './digital.ts';
import type { Essentia } from './essentia.ts';
import { findAccompaniment, findTalk } from './others.ts';
import { type Detected, PROBLEM_KINDS, type Problem, problemOf } from './problem.ts';
import { type PlayedSpan, Sound } from './sound.ts';
import { decayOf, findFar, findRoom } from './space.ts';
import { findWrongSpeed } from './speed.ts';

/** How good a recording is. */
export interface RecordingReport {
  readonly problems: readonly Problem[];
  /** Integrated loudness (EBU R 128), LUFS; null when there is too little sound to tell. */
  readonly loudnessLufs: number | null;
  readonly peakDb: number;
  readonly snrDb: number | null;
}

/** The loudness of the first minutes stands for the whole. */
const LOUDNESS_SEC = 300;

/**
 * Judges a recording.
 * @param wave the file's samples at its own rate, one channel, full scale 1
 * @param notes what was heard in it, in order; empty when nothing was
 */
export function judgeRecording(
  wave: Float32Array,
  sampleRate: number,
  notes: readonly PlayedSpan[],
  essentia: Essentia,
): RecordingReport {
  const samples = Samples.from(wave, sampleRate);
  const sound = new Sound(wave, samples, notes);
  const level = sound.peak > 0 ? wave.map((value) => value / sound.peak) : wave;
  const decay = decayOf(sound);
  const hum = findHum(sound, samples);
  const talk = findTalk(sound, decay?.ringSec ?? 0);
  const company = findAccompaniment(sound, decay?.ringSec ?? 0, hum !== null);
  const gaps = findDropouts(sound, level, talk?.places ?? []);
  const found = [
    findClipping(sound, essentia, level),
    hum,
    findClicks(sound, essentia, level, [...(talk?.places ?? []), ...(gaps?.places ?? [])], company !== null),
    gaps,
    findRoom(sound, decay),
    findBandwidth(sound),
    findFar(sound, decay),
    company,
    findWrongSpeed(sound),
    // Instruments that play along fill the pauses in which talk and noise are searched for, and the ends.
    ...(company === null
      ? [talk, findPumping(sound), findNoise(sound, hum !== null), ...findCuts(sound, essentia, level)]
      : []),
  ].filter((each): each is Detected => each !== null);
  const loudness = essentia.loudness(level.subarray(0, LOUDNESS_SEC * sampleRate), sampleRate);
  const peakDb = 20 * Math.log10(Math.max(1e-6, sound.peak));
  return {
    problems: found
      .toSorted((a, b) => PROBLEM_KINDS.indexOf(a.kind) - PROBLEM_KINDS.indexOf(b.kind))
      .map(problemOf),
    loudnessLufs: Number.isFinite(loudness) ? loudness + peakDb : null,
    peakDb,
    snrDb: notes.length === 0 ? null : sound.snrDb,
  };
}
