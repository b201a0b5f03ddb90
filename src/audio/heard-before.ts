/**
 * If the harp has to be detected, a recording is heard twice, and most of what is measured the second time was measured the first
 * time, at the same place and pitch. What is kept here is given back unchanged, so it alters nothing. Of long recordings nothing is
 * kept: an hour's would take 30 MB [measured].
 */
import { LONG_SEC } from '../limits.ts';

/** How far a time may be from a step, in steps: rounding errors. */
const ON_STEP = 1e-6;

/** Fine pitches at times that are multiples of a step. */
export class KnownPitches {
  readonly #stepSec: number;
  /** By step: the pitch around which it was measured, NaN for none. */
  readonly #near: Float32Array;
  /** NaN if no pitch was found. */
  readonly #midi: Float64Array;
  readonly #harmonicityDb: Float64Array;

  constructor(durationSec: number, stepSec: number) {
    const steps = durationSec > LONG_SEC ? 0 : Math.ceil(durationSec / stepSec) + 1;
    this.#stepSec = stepSec;
    this.#near = new Float32Array(steps).fill(Number.NaN);
    this.#midi = new Float64Array(steps);
    this.#harmonicityDb = new Float64Array(steps);
  }

  /** What was found near a pitch at a time; null if that was nothing, undefined if it is not known. */
  find(sec: number, near: number): { midi: number; harmonicityDb: number } | null | undefined {
    const step = this.#stepAt(sec);
    if (step < 0 || this.#near[step] !== near) return undefined;
    const midi = this.#midi[step];
    return Number.isNaN(midi) ? null : { midi, harmonicityDb: this.#harmonicityDb[step] };
  }

  /** Keeps what was found, in place of what was found at that time before. */
  keep(sec: number, near: number, found: { midi: number; harmonicityDb: number } | null): void {
    const step = this.#stepAt(sec);
    // A pitch that single precision can't hold would not be found again anyway.
    if (step < 0 || Math.fround(near) !== near) return;
    this.#near[step] = near;
    this.#midi[step] = found === null ? Number.NaN : found.midi;
    this.#harmonicityDb[step] = found === null ? 0 : found.harmonicityDb;
  }

  /** -1 between steps and outside the recording. */
  #stepAt(sec: number): number {
    const at = sec / this.#stepSec;
    const step = Math.round(at);
    return Math.abs(at - step) < ON_STEP && step < this.#near.length ? step : -1;
  }
}

/** What was measured along pitches. */
export class KnownTracks<Track> {
  readonly #keeps: boolean;
  readonly #tracks = new Map<string, { readonly midi: Float32Array; readonly track: Track }>();

  constructor(durationSec: number) {
    this.#keeps = durationSec <= LONG_SEC;
  }

  /**
   * What was measured, or is now by `measure`.
   * @param what  what is measured, and from where on
   * @param midi  the pitch from there on
   */
  get(what: string, midi: Float32Array, measure: () => Track): Track {
    const known = this.#tracks.get(what);
    if (known !== undefined && areEqual(known.midi, midi)) {
      // There is no third time.
      this.#tracks.delete(what);
      return known.track;
    }
    const track = measure();
    if (this.#keeps) this.#tracks.set(what, { midi, track });
    return track;
  }
}

function areEqual(a: Float32Array, b: Float32Array): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}

/** One for each recording, as long as that exists. */
export function perRecording<Recording extends object, Known>(
  make: (recording: Recording) => Known,
): (recording: Recording) => Known {
  const all = new WeakMap<Recording, Known>();
  return (recording) => {
    const there = all.get(recording);
    if (there !== undefined) return there;
    const made = make(recording);
    all.set(recording, made);
    return made;
  };
}
