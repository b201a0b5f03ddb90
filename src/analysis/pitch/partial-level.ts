import { KnownTracks, perRecording } from '../../audio/heard-before.ts';
import type { Samples } from '../../audio/samples.ts';
import { Kernel } from '../../kernel.ts';
import { median } from '../../statistics.ts';
import { midiToHz, powerToDb } from '../../units.ts';
import { PartialTracks } from './partial-tracks.ts';
import { LANES } from './quad-transform.ts';
import { SpectrumQuad } from './spectrum.ts';

/** Levels are measured once per tick; a frame has two ticks. */
export const TICK_SEC = 0.005;
/** Ticks per frame (see Frames). */
export const TICKS_PER_FRAME = 2;

/** Short enough for a tongue's dip of 20 ms, long enough to separate the partials of all but the lowest reeds. */
const WINDOW_SEC = 0.0174;
/** Partials are followed up to here; phones and codecs keep little above. */
const HIGHEST_PARTIAL_HZ = 6500;
const MOST_PARTIALS = 20;
/** Number of partials that distinguish the sound of one reed from another, and of places in a note where they are measured. */
const TIMBRE_PARTIALS = 10;
const TIMBRE_PLACES = 8;
const LEAST_POWER = 1e-12;
/** Memory for tables and spectra, twice what they need at most. */
const KERNEL_BYTES_PER_HZ = 8;

/** How a pitch sounds, tick by tick. */
export interface PartialLevelTrack {
  /** Mean level of its partials, in dB re full scale. */
  readonly levelDb: Float32Array;
  /** Complex-domain novelty: how much more than usual its partials changed over 10 ms, in nats (ln of power), -2.3 to 4. */
  readonly complexNovelty: Float32Array;
}

const knownLevels = perRecording(({ durationSec }: Samples) => new KnownTracks<Float32Array>(durationSec));
const knownTracks = perRecording(
  ({ durationSec }: Samples) => new KnownTracks<PartialLevelTrack>(durationSec),
);

/** A pitch to follow. */
interface Voice {
  readonly tracks: PartialTracks;
  /** Of each tick. */
  readonly f0Hz: Float64Array;
  /** Numbers of its partials that count. */
  readonly numbers: readonly number[];
}

/**
 * The level of one pitch, tick by tick: the mean level of its partials in dB. A mean in dB gives every partial the same
 * weight, so a room that raises some partials and lowers others averages out, while a breath or the tongue, which dims all
 * of them, remains.
 */
export class PartialLevel {
  readonly #spectrum: SpectrumQuad;
  readonly #sampleRate: number;
  readonly #knownLevels: KnownTracks<Float32Array>;
  readonly #knownTracks: KnownTracks<PartialLevelTrack>;
  readonly #complexAt: number;
  readonly #complex: Float32Array;
  readonly #tracks: PartialTracks;
  /** For a second pitch at the same time. */
  readonly #otherTracks: PartialTracks;

  constructor(samples: Samples) {
    const kernel = new Kernel(KERNEL_BYTES_PER_HZ * samples.sampleRate);
    this.#spectrum = new SpectrumQuad(kernel, samples, WINDOW_SEC);
    this.#sampleRate = samples.sampleRate;
    this.#knownLevels = knownLevels(samples);
    this.#knownTracks = knownTracks(samples);
    const { binHz, length, fourier } = this.#spectrum;
    const middleSec = length / 2 / samples.sampleRate;
    const turnsByBin = Float64Array.from({ length: fourier.bins }, (_, bin) => middleSec * bin * binHz);
    this.#tracks = new PartialTracks(turnsByBin);
    this.#otherTracks = new PartialTracks(turnsByBin);
    const count = 2 * LANES * fourier.bins;
    this.#complexAt = kernel.reserve(count);
    this.#complex = kernel.floats.subarray(this.#complexAt / 4, this.#complexAt / 4 + count);
  }

  /**
   * @param fromTick  first tick
   * @param midi  pitch of each tick from there on, real-valued (A4 = 440 Hz)
   * @param avoidMidi  a pitch whose partials must not be counted, because another sound shares them
   * @returns the level of each tick in dB re full scale (power of the mean partial)
   */
  measure(fromTick: number, midi: Float32Array, avoidMidi?: number): Float32Array {
    return this.#knownLevels.get(`${fromTick} ${avoidMidi}`, midi, () => {
      const numbers = this.#partialNumbers(midi, avoidMidi);
      const voice = { tracks: this.#tracks, f0Hz: frequencies(midi), numbers };
      this.#track(fromTick, [voice], false);
      return voice.tracks.meanLevel();
    });
  }

  /** The levels of two steady pitches, as `measure` gives them, each on partials that the other lacks. */
  measureBoth(fromTick: number, ticks: number, midis: readonly number[]): Float32Array[] {
    const [low, high] = midis.map((midi) => new Float32Array(ticks).fill(midi));
    const voices = [
      { tracks: this.#tracks, f0Hz: frequencies(low), numbers: this.#partialNumbers(low, midis[1]) },
      { tracks: this.#otherTracks, f0Hz: frequencies(high), numbers: this.#partialNumbers(high, midis[0]) },
    ];
    this.#track(fromTick, voices, false);
    return voices.map(({ tracks }) => tracks.meanLevel());
  }

  /** The level as `measure` gives it, and how much the sound changes, tick by tick. */
  follow(fromTick: number, midi: Float32Array): PartialLevelTrack {
    return this.#knownTracks.get(`${fromTick}`, midi, () => {
      const f0Hz = frequencies(midi);
      this.#track(fromTick, [{ tracks: this.#tracks, f0Hz, numbers: this.#partialNumbers(midi) }], true);
      return {
        levelDb: this.#tracks.meanLevel(),
        complexNovelty: this.#tracks.meanNovelty(this.#turns(fromTick, f0Hz)),
      };
    });
  }

  /**
   * @param heldSec  the held part of a note
   * @returns power of its first partials, in dB re full scale (mean of eight places in the held part)
   */
  partialLevels([fromSec, toSec]: readonly [number, number], midi: number): Float32Array {
    const { fourier, binHz } = this.#spectrum;
    const step = midiToHz(midi) / binHz;
    const sums = new Float64Array(TIMBRE_PARTIALS);
    for (let place = 0; place < TIMBRE_PLACES; place += LANES) {
      const at = (lane: number): number =>
        fromSec + ((place + lane + 0.5) / TIMBRE_PLACES) * (toSec - fromSec);
      this.#spectrum.transform(at(0), at(1), at(2), at(3));
      fourier.fillPower(0, Math.min(fourier.bins, Math.round(TIMBRE_PARTIALS * step) + 2));
      for (let k = 1; k <= TIMBRE_PARTIALS; k++) {
        const bin = Math.round(k * step);
        if (bin > fourier.bins - 2) break;
        for (let i = LANES * (bin - 1); i < LANES * (bin + 2); i++) sums[k - 1] += fourier.power[i];
      }
    }
    return Float32Array.from(sums, (sum) => powerToDb(sum / TIMBRE_PLACES + LEAST_POWER));
  }

  /** How far a tone at each tick's frequency turns from the stretch before the tick to the one after it, in radians. */
  #turns(fromTick: number, f0Hz: Float64Array): Float64Array {
    const rate = this.#sampleRate;
    const half = this.#spectrum.length / 2;
    const last = f0Hz.length - 1;
    // Rounded to whole samples, like the stretches themselves.
    const start = (i: number): number => Math.round((fromTick + i) * TICK_SEC * rate - half);
    return f0Hz.map(
      (hz, i) => 2 * Math.PI * hz * ((start(Math.min(last, i + 1)) - start(Math.max(0, i - 1))) / rate),
    );
  }

  /** Numbers of the partials to follow: those below the limit that are not shared, or all if all are shared. */
  #partialNumbers(midi: Float32Array, avoidMidi?: number): number[] {
    const { binHz } = this.#spectrum;
    const centreHz = midiToHz(median(midi));
    const highestHz = Math.min(HIGHEST_PARTIAL_HZ, this.#sampleRate / 2 - 3 * binHz);
    const count = Math.max(1, Math.min(MOST_PARTIALS, Math.floor(highestHz / centreHz)));
    const all = Array.from({ length: count }, (_, i) => i + 1);
    if (avoidMidi === undefined) return all;
    const avoidHz = midiToHz(avoidMidi);
    const own = all.filter((number) => !isShared(number * centreHz, avoidHz, 1.2 * binHz));
    return own.length > 0 ? own : all;
  }

  /** Fills in the tracks of pitches that last equally long. @param withPhase  amplitudes as well */
  #track(fromTick: number, voices: readonly Voice[], withPhase: boolean): void {
    const { fourier, binHz } = this.#spectrum;
    let bins = 0;
    for (const { tracks, f0Hz, numbers } of voices) {
      const highest = numbers[numbers.length - 1] * (highestOf(f0Hz) / binHz);
      bins = Math.max(bins, Math.min(fourier.bins, Math.round(highest) + 2));
      tracks.begin(numbers, f0Hz, binHz);
    }
    const ticks = voices[0].f0Hz.length;
    if (withPhase) this.#takeAmplitudes(fromTick, ticks, bins, voices[0].tracks);
    else this.#takePowers(fromTick, ticks, bins, voices);
    for (const { tracks } of voices) tracks.end();
  }

  // Loops of their own, which V8 compiles without all that surrounds them.

  #takePowers(fromTick: number, ticks: number, bins: number, voices: readonly Voice[]): void {
    const { fourier } = this.#spectrum;
    for (let from = 0; from < ticks; from += LANES) {
      this.#transform(fromTick + from);
      fourier.fillPower(1, bins);
      for (let v = 0; v < voices.length; v++) voices[v].tracks.takePowers(from, fourier.power);
    }
  }

  #takeAmplitudes(fromTick: number, ticks: number, bins: number, tracks: PartialTracks): void {
    const { fourier } = this.#spectrum;
    for (let from = 0; from < ticks; from += LANES) {
      this.#transform(fromTick + from);
      fourier.writeComplex(this.#complexAt, fourier.powerAt, bins);
      tracks.takePowers(from, fourier.power);
      tracks.takeAmplitudes(from, this.#complex);
    }
  }

  /** Transforms the stretches around four ticks. */
  #transform(tick: number): void {
    this.#spectrum.transform(
      tick * TICK_SEC,
      (tick + 1) * TICK_SEC,
      (tick + 2) * TICK_SEC,
      (tick + 3) * TICK_SEC,
    );
  }
}

function frequencies(midi: Float32Array): Float64Array {
  const f0Hz = new Float64Array(midi.length);
  for (let i = 0; i < midi.length; i++)
    f0Hz[i] = i > 0 && midi[i] === midi[i - 1] ? f0Hz[i - 1] : midiToHz(midi[i]);
  return f0Hz;
}

function highestOf(f0Hz: Float64Array): number {
  let highest = 0;
  for (let i = 0; i < f0Hz.length; i++) highest = Math.max(highest, f0Hz[i]);
  return highest;
}

function isShared(partialHz: number, otherHz: number, withinHz: number): boolean {
  const nearest = Math.max(1, Math.round(partialHz / otherHz)) * otherHz;
  return Math.abs(partialHz - nearest) < withinHz;
}
