import { FinePitchMeter } from '../../analysis/pitch/fine-pitch.ts';
import type { Samples } from '../../audio/samples.ts';
import type { Note } from '../../tab/note.ts';
import { amplitudeToDb } from '../../units.ts';

const STEP_SEC = 0.01;
/** A sum of partials this weak relative to the rest is not a pitch, in dB (10 log10). */
const LEAST_HARMONICITY_DB = -3;
/** A dip must be this far below both sides to separate two notes. */
const LEAST_DIP_DB = 2;
/** Below this level nothing sounds; within this range of its peak a note does, in dB. */
const SILENCE_DB = -60;
const LOUD_RANGE_DB = 12;
/** A dip ends where it is this much shallower than at its deepest. */
const DIP_END_SHARE = 0.8;
/** Share of a note at each end that is not searched for dips. */
const EDGE_SHARE = 0.15;

/** Questions that the recording itself can answer. */
export class Ears {
  readonly #samples: Samples;
  readonly #meter: FinePitchMeter;

  constructor(samples: Samples) {
    this.#samples = samples;
    this.#meter = new FinePitchMeter(samples);
  }

  get samples(): Samples {
    return this.#samples;
  }

  get sampleRate(): number {
    return this.#samples.sampleRate;
  }

  /** The sound from one time to another. */
  excerpt(fromSec: number, toSec: number): Float32Array {
    const rate = this.#samples.sampleRate;
    const out = new Float32Array(Math.max(0, Math.round((toSec - fromSec) * rate)));
    this.#samples.read(Math.round(fromSec * rate), out);
    return out;
  }

  levelDb(fromSec: number, toSec: number): number {
    const stretch = this.excerpt(fromSec, toSec);
    let sum = 0;
    for (const value of stretch) sum += value * value;
    return amplitudeToDb(Math.sqrt(sum / Math.max(1, stretch.length)) + 1e-6);
  }

  /** Where a note is most likely two: its deepest dip, or null if it has none. */
  dip(note: Pick<Note, 'onsetSec' | 'offsetSec'>): number | null {
    const length = note.offsetSec - note.onsetSec;
    const levels: number[] = [];
    const times: number[] = [];
    for (let sec = note.onsetSec; sec < note.offsetSec; sec += STEP_SEC / 2) {
      times.push(sec);
      levels.push(this.levelDb(sec - STEP_SEC, sec + STEP_SEC));
    }
    const depth = levels.map((level, i) => {
      const share = (times[i] - note.onsetSec) / length;
      if (share < EDGE_SHARE || share > 1 - EDGE_SHARE) return 0;
      return Math.min(Math.max(...levels.slice(0, i + 1)), Math.max(...levels.slice(i))) - level;
    });
    const deepest = Math.max(...depth);
    if (!(deepest > LEAST_DIP_DB)) return null;
    // The second note begins where the dip ends.
    let at = depth.indexOf(deepest);
    while (depth[at + 1] > DIP_END_SHARE * deepest) at++;
    return times[at];
  }

  /** The loudest stretch between two times: where the level stays near its highest; null in silence. */
  loudest(fromSec: number, toSec: number): readonly [fromSec: number, toSec: number] | null {
    const levels: number[] = [];
    for (let sec = fromSec; sec < toSec; sec += STEP_SEC) levels.push(this.levelDb(sec, sec + STEP_SEC));
    const peak = Math.max(...levels);
    if (!(peak > SILENCE_DB)) return null;
    let first = levels.indexOf(peak);
    let last = first;
    while (first > 0 && levels[first - 1] > peak - LOUD_RANGE_DB) first--;
    while (last < levels.length - 1 && levels[last + 1] > peak - LOUD_RANGE_DB) last++;
    return [fromSec + first * STEP_SEC, Math.min(toSec, fromSec + (last + 1) * STEP_SEC)];
  }

  /**
   * The pitch of a stretch, searched around `nearMidi`.
   * @returns real-valued MIDI number; null when nothing clear sounds
   */
  pitch(fromSec: number, toSec: number, nearMidi: number, reachSemitones: number): number | null {
    let best: number | null = null;
    let clearest = LEAST_HARMONICITY_DB;
    for (let step = -reachSemitones; step <= reachSemitones; step++) {
      const found: { midi: number; harmonicityDb: number }[] = [];
      for (let share = 0.3; share <= 0.8; share += 0.1) {
        const fine = this.#meter.measure(fromSec + share * (toSec - fromSec), nearMidi + step);
        if (fine !== null && Math.abs(fine.midi - nearMidi - step) < 0.6) found.push(fine);
      }
      if (found.length < 3) continue;
      const middle = found.sort((a, b) => a.harmonicityDb - b.harmonicityDb)[found.length >> 1];
      // An octave below explains the same partials: only a clearly better one counts, and the nearest comes first.
      if (middle.harmonicityDb <= clearest + (best === null ? 0 : 1)) continue;
      clearest = middle.harmonicityDb;
      best = found.sort((a, b) => a.midi - b.midi)[found.length >> 1].midi;
    }
    return best;
  }
}
