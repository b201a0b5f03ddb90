import type { Samples } from '../audio/samples.ts';
import { median } from '../statistics.ts';
import { bandPower, binQuantiles, type Spectrogram, spectrogramOf } from './spectrogram.ts';

/** What judging a recording needs of a played note. */
export interface PlayedSpan {
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly f0Hz: number;
  /** All pitches of the harp that sound, where there is more than one. */
  readonly allHz?: readonly number[];
}

/** The band in which a harp sounds. */
const BAND_HZ = [150, 8000] as const;
/** Each bin is free of notes for at least this share of the time. */
const FLOOR_SHARE = 0.15;
/** For noise, whose power is exponentially distributed, the quantile at that share is this fraction of the mean. */
const FLOOR_TO_MEAN = -Math.log(1 - FLOOR_SHARE);
/** Tonal lines (hum, held chords) are not noise: the median of this many bins on either side is used. */
const LINE_BINS = 12;

/** Multiples of the mains are loud up to here. */
const ABOVE_HUM_HZ = 1000;

/** dB of a power. */
export const powerDb = (power: number): number => 10 * Math.log10(Math.max(1e-12, power));

/** What all checks of a recording share. */
export class Sound {
  /** The file's own samples, mixed to one channel, in [-1, 1]. */
  readonly wave: Float32Array;
  readonly sampleRate: number;
  readonly durationSec: number;
  readonly notes: readonly PlayedSpan[];
  readonly spectrogram: Spectrogram;
  /** By bin, the power that is there even when no note sounds there. */
  readonly floor: Float32Array;
  /** Largest sample. */
  readonly peak: number;
  /** Median level of the playing, and mean level of the noise, dB below full scale in the band of the harp. */
  readonly playingDb: number;
  readonly noiseDb: number;

  constructor(wave: Float32Array, samples: Samples, notes: readonly PlayedSpan[]) {
    this.wave = wave;
    this.sampleRate = samples.sampleRate;
    this.durationSec = samples.durationSec;
    this.notes = notes;
    this.spectrogram = spectrogramOf(samples, {
      windowSec: 0.046,
      hopSec: 0.0116,
      topHz: Math.min(9000, samples.sampleRate / 2),
    });
    this.floor = binQuantiles(this.spectrogram, FLOOR_SHARE);
    this.peak = wave.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    const sounding = this.framesWhere((sec) =>
      notes.some((note) => sec >= note.onsetSec && sec < note.offsetSec),
    );
    this.playingDb =
      sounding.length === 0 ? powerDb(0) : powerDb(median(sounding.map((frame) => this.bandAt(frame))));
    this.noiseDb = powerDb(noiseOf(this.floor, this.spectrogram.binHz) / FLOOR_TO_MEAN);
  }

  get snrDb(): number {
    return this.playingDb - this.noiseDb;
  }

  /** The whole of it. */
  get all(): { readonly fromSec: number; readonly toSec: number } {
    return { fromSec: 0, toSec: this.durationSec };
  }

  framesWhere(wanted: (sec: number) => boolean): number[] {
    const { frames, hopSec } = this.spectrogram;
    return Array.from({ length: frames }, (_, t) => t).filter((t) => wanted(t * hopSec));
  }

  frameAt(sec: number): number {
    const { frames, hopSec } = this.spectrogram;
    return Math.max(0, Math.min(frames - 1, Math.round(sec / hopSec)));
  }

  /** The same, counting only frequencies above mains hum and its multiples. */
  get snrAboveHumDb(): number {
    const { binHz } = this.spectrogram;
    return this.playingDb - powerDb(bandPower(this.floor, binHz, ABOVE_HUM_HZ, BAND_HZ[1]) / FLOOR_TO_MEAN);
  }

  /** Power of a frame in the band of the harp. */
  bandAt(frame: number): number {
    const { power, binHz, bins } = this.spectrogram;
    return bandPower(power, binHz, ...BAND_HZ, frame * bins);
  }

  /** Power around a frequency in a frame. */
  lineAt(frame: number, hz: number): number {
    const { power, binHz, bins } = this.spectrogram;
    const at = frame * bins + Math.round(hz / binHz);
    return power[at - 1] + power[at] + power[at + 1];
  }

  /** Stretches before, between and after the notes, longer than this. */
  pauses(leastSec: number): { readonly fromSec: number; readonly toSec: number }[] {
    const { notes, durationSec } = this;
    const ends = [0, ...notes.map(({ offsetSec }) => offsetSec)];
    const begins = [...notes.map(({ onsetSec }) => onsetSec), durationSec];
    return ends.flatMap((fromSec, i) =>
      begins[i] - fromSec >= leastSec ? [{ fromSec, toSec: begins[i] }] : [],
    );
  }
}

/** Power of the noise in the band of the harp, lines left out. */
function noiseOf(floor: Float32Array, binHz: number): number {
  const smooth = Float32Array.from(floor, (value, k) =>
    Math.min(value, median([...floor.subarray(Math.max(1, k - LINE_BINS), k + LINE_BINS + 1)])),
  );
  return bandPower(smooth, binHz, ...BAND_HZ);
}
