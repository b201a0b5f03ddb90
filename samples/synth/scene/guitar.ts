import { addInto, levelTo, rms } from '../dsp.ts';
import type { Rng } from '../rng.ts';
import { biquad, whiteNoise } from './degrade.ts';

/** A plucked string: noise going round a delay line that loses its high parts (Karplus and Strong, 1983). */
export function pluck(hz: number, sec: number, sampleRate: number, rng: Rng): Float32Array {
  const period = sampleRate / hz - 0.5;
  const whole = Math.floor(period);
  const fraction = period - whole;
  const allPass = (1 - fraction) / (1 + fraction);
  const line = whiteNoise(whole, rng);
  for (let pass = 0; pass < 2; pass++)
    for (let n = 1; n < whole; n++) line[n] = 0.5 * (line[n] + line[n - 1]);
  const out = new Float32Array(Math.floor(sec * sampleRate));
  let at = 0;
  let lowPassed = 0;
  let before = 0;
  let tuned = 0;
  for (let n = 0; n < out.length; n++) {
    const value = line[at];
    const averaged = 0.998 * (0.5 * value + 0.5 * lowPassed);
    lowPassed = value;
    tuned = allPass * averaged + before - allPass * tuned;
    before = averaged;
    line[at] = tuned;
    out[n] = value;
    at = (at + 1) % whole;
  }
  return out;
}

/** Strings of an open chord above its root, in semitones; the third is minor on the sixth degree. */
const CHORD = [0, 7, 12, 16, 19, 24];
const MINOR_ROOT = 9;
const ROOTS = [0, 5, 7, 0, 9, 5, 7, 0];
const LOW_E_MIDI = 40;

/** How a guitar accompanies. */
export interface GuitarManner {
  /** Beats from one stroke to the next (1 when left out). */
  readonly strokeBeats?: number;
  /** Frets that a capo takes the lowest string up by. */
  readonly capo?: number;
  /** Plucked with the thumb: this low-pass on the strings, Hz (none when left out). */
  readonly dullHz?: number;
}

/** Soft guitar chords in the background, `db` relative to the take. */
export function withGuitar(
  samples: Float32Array,
  sampleRate: number,
  tempoBpm: number,
  tonicMidi: number,
  db: number,
  rng: Rng,
  { strokeBeats = 1, capo = 0, dullHz }: GuitarManner = {},
): Float32Array {
  const track = new Float32Array(samples.length);
  const beatSec = (60 / tempoBpm) * strokeBeats;
  const lowestMidi = LOW_E_MIDI + capo;
  const fingered = rng.chance(0.4);
  for (let beat = 0; beat * beatSec * sampleRate < track.length; beat++) {
    const degree = ROOTS[Math.floor(beat / Math.max(1, 4 / strokeBeats)) % ROOTS.length];
    const root = lowestMidi + ((tonicMidi + degree - lowestMidi + 1200) % 12);
    CHORD.forEach((interval, string) => {
      const semitones = interval === 16 && degree === MINOR_ROOT ? 15 : interval;
      const hz = 440 * 2 ** ((root + semitones - 69) / 12);
      const spread = fingered ? beatSec / CHORD.length : rng.between([0.005, 0.015]);
      const gain = rng.between([0.6, 1]);
      const at = Math.floor((beat * beatSec + 0.2 + string * spread) * sampleRate);
      const sound = pluck(hz, Math.min(2.5, beatSec * 2), sampleRate, rng);
      addInto(
        track,
        sound.map((value) => value * gain),
        at,
      );
    });
  }
  const strings = dullHz === undefined ? track : biquad(track, sampleRate, dullHz, 'low');
  levelTo(strings, rms(samples) * 10 ** (db / 20));
  return addInto(samples.slice(), strings, 0);
}
