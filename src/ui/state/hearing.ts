import type { SoundEvent } from '../../analysis/notes/events.ts';
import { analyseFrames, CANDIDATES, type Frames } from '../../analysis/pitch/frames.ts';
import type { Samples } from '../../audio/samples.ts';
import type { HarpGuess } from '../../harp/types.ts';
import { hearAnyHarp } from '../../pipeline.ts';
import { powerToDb } from '../../units.ts';

/**
 * Pitch and level of a whole recording, every 10 ms, whatever notes were found. Frame `t` is centred on `t * stepSec`.
 */
export interface PitchTrack {
  readonly stepSec: number;
  /** Real-valued MIDI number (A4 = 440 Hz); NaN where no pitch sounds. */
  readonly midi: Float32Array;
  /** All pitches that may sound in a frame, `CANDIDATES` per frame, likeliest first; 0 for none. */
  readonly candidateMidi: Float32Array;
  /** RMS level in dB re full scale (20 log10). */
  readonly levelDb: Float32Array;
}

/** A stretch of one sounding pitch, heard without knowing the harp. */
export interface Sound {
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** Real-valued MIDI number of the held part (A4 = 440 Hz). */
  readonly midi: number;
  readonly f0Hz: number;
}

/** What sounds in the recording of a take. */
export interface Hearing {
  readonly track: PitchTrack;
  /** Null while they are still being searched for. */
  readonly sounds: readonly Sound[] | null;
  /** The harps that would explain the sounds, likeliest first. */
  readonly harps: readonly HarpGuess[];
}

/** Evidence from which a frame counts as pitched (see Salience), the same as in decoding notes. */
const PITCHED = 1;
/** Keeps the level of digital silence finite. */
const LEAST_POWER = 1e-12;

/**
 * Hears a recording again, whatever is written.
 * @param onTrack called with pitch and level as soon as they are known, before the sounds
 */
export async function hear(samples: Samples, onTrack: (hearing: Hearing) => void): Promise<Hearing> {
  const frames = await analyseFrames(samples, noPause);
  const track = trackOf(frames, samples);
  onTrack({ track, sounds: null, harps: [] });
  const { sounds, harps } = await hearAnyHarp(samples, frames, {}, noPause);
  return { track, sounds: sounds.map(soundOf), harps };
}

const noPause = async (): Promise<void> => {};

function soundOf({ onsetSec, offsetSec, midi, f0Hz }: SoundEvent): Sound {
  return { onsetSec, offsetSec, midi, f0Hz };
}

function trackOf({ hopSec, count, candidateMidi, candidateStrength }: Frames, samples: Samples): PitchTrack {
  const midi = new Float32Array(count);
  const levelDb = new Float32Array(count);
  const width = Math.max(1, Math.round(hopSec * samples.sampleRate));
  for (let t = 0; t < count; t++) {
    const strongest = t * CANDIDATES;
    midi[t] = candidateStrength[strongest] > PITCHED ? candidateMidi[strongest] : Number.NaN;
    const from = Math.round((t - 0.5) * hopSec * samples.sampleRate);
    levelDb[t] = powerToDb(samples.meanSquare(from, width) + LEAST_POWER);
  }
  return { stepSec: hopSec, midi, candidateMidi, levelDb };
}
