import type { PlayableNote } from '../../src/harp/types.ts';
import { type Rng, seededRng } from './rng.ts';

/** What one harp in one pair of hands sounds like. Free reeds chop the air: many partials, falling slowly. */
export interface Timbre {
  readonly seed: number;
  /** Fall of the partials by their number. */
  readonly slopeDbPerOctave: number;
  /** Above this frequency they fall faster. */
  readonly cornerHz: number;
  readonly upperSlopeDbPerOctave: number;
  /** Spread of single partials around the fall. */
  readonly spreadDb: number;
  /** Peaks and troughs of mouth, hands and covers. */
  readonly resonances: readonly { readonly hz: number; readonly db: number; readonly octaves: number }[];
  /** Extra loss of a partial for every decibel that the note is softer, by partial number. */
  readonly dulling: number;
}

const MAX_PARTIALS = 72;
/** Partials stop here, below half the sample rate. */
const TOP_SHARE = 0.45;

export function randomTimbre(rng: Rng): Timbre {
  return {
    seed: Math.floor(rng.next() * 2 ** 31),
    slopeDbPerOctave: rng.between([3.5, 8]),
    cornerHz: rng.between([2200, 5500]),
    upperSlopeDbPerOctave: rng.between([4, 14]),
    spreadDb: rng.between([2.5, 5.5]),
    resonances: [
      { hz: rng.between([700, 1500]), db: rng.between([-3, 5]), octaves: rng.between([0.3, 0.7]) },
      { hz: rng.between([1800, 3200]), db: rng.between([0, 7]), octaves: rng.between([0.3, 0.6]) },
      { hz: rng.between([4000, 9000]), db: rng.between([-4, 6]), octaves: rng.between([0.3, 0.8]) },
    ],
    dulling: rng.between([0.015, 0.05]),
  };
}

/** Amplitudes and phases of a reed's partials, first partial first; power (half the sum of squares) is 1. */
export interface Spectrum {
  readonly amplitude: Float64Array;
  readonly phase: Float64Array;
}

/** The partials of this note on this harp; the same note gives the same partials every time. */
export function reedSpectrum(timbre: Timbre, note: PlayableNote, sampleRate: number): Spectrum {
  const rng = seededRng(timbre.seed).fork(`${note.hole} ${note.breath} ${note.bend} ${note.over}`);
  const top = note.f0Hz * 1.12; // room for bends off target and scoops from above
  const count = Math.max(1, Math.min(MAX_PARTIALS, Math.floor((TOP_SHARE * sampleRate) / top)));
  const amplitude = new Float64Array(count);
  const phase = new Float64Array(count);
  // A bend or overbend couples two reeds and is duller (JASA 103(4), 2134-2144, for the coupling; size by ear).
  const slope = timbre.slopeDbPerOctave + (note.bend > 0 || note.over ? rng.between([0.5, 2.5]) : 0);
  let power = 0;
  for (let k = 1; k <= count; k++) {
    const hz = k * note.f0Hz;
    let db = -slope * Math.log2(k) + rng.normal() * timbre.spreadDb;
    if (k === 1) db += rng.between([-7, 0]);
    if (hz > timbre.cornerHz) db -= timbre.upperSlopeDbPerOctave * Math.log2(hz / timbre.cornerHz);
    for (const peak of timbre.resonances) {
      db += peak.db * Math.exp(-0.5 * (Math.log2(hz / peak.hz) / peak.octaves) ** 2);
    }
    amplitude[k - 1] = 10 ** (db / 20);
    phase[k - 1] = rng.normal() * 0.8;
    power += amplitude[k - 1] ** 2 / 2;
  }
  const scale = 1 / Math.sqrt(power);
  for (let k = 0; k < count; k++) amplitude[k] *= scale;
  return { amplitude, phase };
}
