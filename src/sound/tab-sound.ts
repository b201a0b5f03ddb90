/** What is needed of a note to sound it. */
export interface SoundedNote {
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** The pitch that the tab asks for, in Hz. */
  readonly f0Hz: number;
}

/** How fast a reed speaks and dies away. */
const ATTACK_SEC = 0.015;
const RELEASE_SEC = 0.03;
/** A free reed chops the air into pulses: strong high partials that fall slowly (chosen by ear). */
const PARTIAL_SLOPE = 1.3;
const PARTIALS = 12;
/** Peak of one note, full scale 1; leaves room to be mixed with a recording. */
const PEAK = 0.25;
/** Partials above this share of the sample rate would fold back. */
const HIGHEST_SHARE = 0.45;

/**
 * The sound of tab: every note as a plain reed at the pitch of its hole, to be compared with the recording.
 * @param fromSec time of the first sample of the result; notes sound at their own times
 * @returns samples in ±0.25, `round((toSec - fromSec) * sampleRate)` of them; silence between notes
 */
export function soundTab(
  notes: readonly SoundedNote[],
  fromSec: number,
  toSec: number,
  sampleRate: number,
): Float32Array {
  const out = new Float32Array(Math.max(0, Math.round((toSec - fromSec) * sampleRate)));
  for (const note of notes) soundNote(note, fromSec, sampleRate, out);
  return out;
}

function soundNote(note: SoundedNote, fromSec: number, sampleRate: number, out: Float32Array): void {
  const start = Math.round((note.onsetSec - fromSec) * sampleRate);
  const end = Math.round((note.offsetSec - fromSec) * sampleRate);
  const wave = oneWave(note.f0Hz, sampleRate);
  const step = (note.f0Hz / sampleRate) * wave.length;
  const attack = ATTACK_SEC * sampleRate;
  const release = RELEASE_SEC * sampleRate;
  for (let i = Math.max(0, start); i < Math.min(out.length, end); i++) {
    const level = Math.min(1, (i - start) / attack, (end - i) / release);
    out[i] += PEAK * level * wave[Math.floor(((i - start) * step) % wave.length)];
  }
}

/** Steps of a stored period: fine enough that the error of interpolation stays below -60 dB. */
const WAVE_STEPS = 4096;

/** Periods by number of partials, the only thing they depend on. */
const waves = new Map<number, Float32Array>();

function oneWave(f0Hz: number, sampleRate: number): Float32Array {
  const partials = Math.max(1, Math.min(PARTIALS, Math.floor((HIGHEST_SHARE * sampleRate) / f0Hz)));
  const wave = waves.get(partials) ?? makeWave(partials);
  waves.set(partials, wave);
  return wave;
}

function makeWave(partials: number): Float32Array {
  const wave = new Float32Array(WAVE_STEPS);
  let peak = 0;
  for (let i = 0; i < WAVE_STEPS; i++) {
    for (let k = 1; k <= partials; k++) {
      wave[i] += Math.sin((2 * Math.PI * k * i) / WAVE_STEPS) / k ** PARTIAL_SLOPE;
    }
    peak = Math.max(peak, Math.abs(wave[i]));
  }
  return wave.map((value) => value / peak);
}

/** The sum of both, as long as the longer one. */
export function mix(a: Float32Array, b: Float32Array): Float32Array {
  const [long, short] = a.length >= b.length ? [a, b] : [b, a];
  const out = Float32Array.from(long);
  short.forEach((value, i) => {
    out[i] += value;
  });
  return out;
}
