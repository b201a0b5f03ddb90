import { bandPass } from '../../../samples/synth/scene/degrade.ts';
import { quantile } from '../../../src/statistics.ts';
import { centsBetween } from '../../../src/units.ts';

/** A note whose place and pitch are known. */
export interface KnownNote {
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly f0Hz: number;
  readonly nominalMidi: number;
  /** Whether nothing else is known to sound beside it. */
  readonly alone: boolean;
  /** Whether it is surely as said; what isn't is measured neither by itself nor with its neighbours. */
  readonly sure: boolean;
}

/** What playing sounds like, as lists of what was measured on notes; every list may be empty. */
export interface Traits {
  /** Number of the strongest partial, 1 to 8. */
  readonly strongest: readonly number[];
  /** Levels of partials 1 to 6 over their mean, in dB. */
  readonly partialDb: readonly (readonly number[])[];
  /** From the 5th to the 95th percentile of the level of a held note, and how often it rises and falls a second. */
  readonly rippleDb: readonly number[];
  readonly rippleHz: readonly number[];
  /** Between two notes of one pitch and of two: depth below the softer of both, and how long it is half as deep. */
  readonly repeatDipDb: readonly number[];
  readonly repeatDipSec: readonly number[];
  readonly changeDipDb: readonly number[];
  readonly changeDipSec: readonly number[];
  /** From 20 dB to 3 dB below the early peak. */
  readonly attackSec: readonly number[];
  /** From 3 dB to 20 dB below the last level, where a gap follows. */
  readonly decaySec: readonly number[];
  /** First 50 ms against the held part. */
  readonly slideCents: readonly number[];
  /** 5th below 95th percentile of a recording's level. */
  readonly floorDb: readonly number[];
  readonly gapSec: readonly number[];
  /** Notes a second, from one onset to the next. */
  readonly rate: readonly number[];
  /** Held pitch from the nominal one, the middle of the recording taken off. */
  readonly tuningCents: readonly number[];
}

/** A level every 2 ms, over 12 ms. */
export const HOP_SEC = 0.002;
export const WINDOW_SEC = 0.012;
const PARTIALS = 6;

/** Measures one recording: samples, and notes in order. Level is that of 500 to 3500 Hz in windows of 12 ms. */
export function traitsOf(samples: Float32Array, sampleRate: number, all: readonly KnownNote[]): Traits {
  const level = levelDb(bandPass(samples, sampleRate, [500, 3500]), sampleRate);
  const whole = levelDb(samples, sampleRate);
  const at = (sec: number): number =>
    Math.max(0, Math.min(level.length - 1, Math.round((sec - WINDOW_SEC / 2) / HOP_SEC)));
  const span = (from: number, to: number): Float64Array =>
    level.subarray(at(from), Math.max(at(to), at(from) + 1));
  const notes = all.filter(({ sure }) => sure);
  const pairs = all
    .slice(1)
    .map((next, i) => [all[i], next] as const)
    .filter(([a, b]) => a.sure && b.sure);
  const alone = notes.filter((note) => note.alone && note.offsetSec - note.onsetSec > 0.12);
  const partials = alone.map((note) => partialLevels(samples, sampleRate, note));
  const held = notes.filter((note) => note.offsetSec - note.onsetSec > 0.5);
  const ripples = held.map((note) => ripple(span(note.onsetSec + 0.1, note.offsetSec - 0.1)));
  const dips = (same: boolean) =>
    pairs
      .filter(([a, b]) => (a.nominalMidi === b.nominalMidi) === same && b.onsetSec - a.offsetSec < 0.25)
      .map(([a, b]) => dip(span, a, b));
  const cents = notes.map(({ f0Hz, nominalMidi }) =>
    centsBetween(f0Hz, 440 * 2 ** ((nominalMidi - 69) / 12)),
  );
  const middle = quantile(cents, 0.5);
  return {
    strongest: partials.map((levels) => 1 + levels.indexOf(Math.max(...levels))),
    partialDb: partials.map((levels) => {
      const lowest = levels.slice(0, PARTIALS);
      const mean = lowest.reduce((sum, value) => sum + value, 0) / PARTIALS;
      return lowest.map((value) => value - mean);
    }),
    rippleDb: ripples.map(({ dB }) => dB),
    rippleHz: ripples.flatMap(({ hz, dB }) => (dB >= 2 ? [hz] : [])),
    repeatDipDb: dips(true).map(({ dB }) => dB),
    repeatDipSec: dips(true).map(({ sec }) => sec),
    changeDipDb: dips(false).map(({ dB }) => dB),
    changeDipSec: dips(false).map(({ sec }) => sec),
    attackSec: notes
      .filter((note) => {
        const before = all[all.indexOf(note) - 1];
        return before === undefined || note.onsetSec - before.offsetSec > 0.03;
      })
      .flatMap(({ onsetSec, offsetSec }) => rise(span(onsetSec - 0.1, Math.min(offsetSec, onsetSec + 0.3)))),
    decaySec: pairs
      .filter(([a, b]) => b.onsetSec - a.offsetSec > 0.15)
      .flatMap(([a, b]) =>
        rise(
          span(a.offsetSec - 0.1, b.onsetSec - 0.02)
            .slice()
            .reverse(),
        ),
      ),
    slideCents: alone
      .filter((note) => note.offsetSec - note.onsetSec > 0.2)
      .map((note) => slide(samples, sampleRate, note)),
    floorDb: [quantile(whole, 0.95) - quantile(whole, 0.05)],
    gapSec: pairs.map(([a, b]) => Math.max(0, b.onsetSec - a.offsetSec)),
    rate: pairs.flatMap(([a, b]) => (b.onsetSec - a.onsetSec < 1.5 ? [1 / (b.onsetSec - a.onsetSec)] : [])),
    tuningCents: cents.map((value) => value - middle),
  };
}

/** Every list one after the other. */
export function joinTraits(all: readonly Traits[]): Traits {
  const names = Object.keys(all[0]) as (keyof Traits)[];
  return Object.fromEntries(
    names.map((name) => [name, all.flatMap((one) => one[name] as number[])]),
  ) as never;
}

/** Mean level in dB, one value every `HOP_SEC` from the first sample. */
export function levelDb(samples: Float32Array, sampleRate: number): Float64Array {
  const hop = HOP_SEC * sampleRate;
  const window = Math.round(WINDOW_SEC * sampleRate);
  const sums = new Float64Array(samples.length + 1);
  for (let n = 0; n < samples.length; n++) sums[n + 1] = sums[n] + samples[n] ** 2;
  return Float64Array.from({ length: Math.max(1, Math.floor((samples.length - window) / hop)) }, (_, i) => {
    const from = Math.round(i * hop);
    return 10 * Math.log10((sums[from + window] - sums[from]) / window + 1e-12);
  });
}

/** Levels of the first eight partials over the middle of a note, in dB: the strongest of nine places about each. */
function partialLevels(samples: Float32Array, sampleRate: number, note: KnownNote): number[] {
  const length = note.offsetSec - note.onsetSec;
  const from = note.onsetSec + Math.min(0.06, 0.3 * length);
  const to = Math.min(note.offsetSec - Math.min(0.04, 0.2 * length), from + 0.3);
  return Array.from({ length: 8 }, (_, k) => {
    const hz = (k + 1) * note.f0Hz;
    const near = [-20, -15, -10, -5, 0, 5, 10, 15, 20].map((cents) =>
      magnitude(samples, sampleRate, from, to, hz * 2 ** (cents / 1200)),
    );
    return 20 * Math.log10(Math.max(...near) + 1e-9);
  });
}

/** Amplitude at one frequency through a Hann window. */
export function magnitude(
  samples: Float32Array,
  sampleRate: number,
  from: number,
  to: number,
  hz: number,
): number {
  if (hz > 0.45 * sampleRate) return 0;
  const first = Math.max(0, Math.round(from * sampleRate));
  const last = Math.min(samples.length, Math.round(to * sampleRate));
  const step = (2 * Math.PI * hz) / sampleRate;
  let re = 0;
  let im = 0;
  for (let n = first; n < last; n++) {
    const value = samples[n] * (1 - Math.cos((2 * Math.PI * (n - first)) / (last - first)));
    re += value * Math.cos(step * n);
    im += value * Math.sin(step * n);
  }
  return (2 * Math.hypot(re, im)) / Math.max(1, last - first);
}

function ripple(levels: Float64Array): { dB: number; hz: number } {
  const smooth = moving(levels, 15);
  const trend = moving(levels, 250);
  const wobble = smooth.map((value, i) => value - trend[i]);
  let crossings = 0;
  for (let i = 1; i < wobble.length; i++) if (wobble[i - 1] < 0 && wobble[i] >= 0) crossings++;
  return {
    dB: quantile(wobble, 0.95) - quantile(wobble, 0.05),
    hz: crossings / Math.max(HOP_SEC, wobble.length * HOP_SEC),
  };
}

function moving(values: Float64Array, width: number): Float64Array {
  const sums = new Float64Array(values.length + 1);
  for (let i = 0; i < values.length; i++) sums[i + 1] = sums[i] + values[i];
  const half = width >> 1;
  return values.map((_, i) => {
    const from = Math.max(0, i - half);
    const to = Math.min(values.length, i + half + 1);
    return (sums[to] - sums[from]) / (to - from);
  });
}

function dip(
  span: (from: number, to: number) => Float64Array,
  a: KnownNote,
  b: KnownNote,
): { dB: number; sec: number } {
  const side = 0.12;
  const before = quantile(span(Math.max(a.onsetSec, a.offsetSec - side), a.offsetSec - 0.02), 0.5);
  const after = quantile(span(b.onsetSec + 0.02, Math.min(b.offsetSec, b.onsetSec + side)), 0.5);
  const between = span(a.offsetSec - 0.05, b.onsetSec + 0.05);
  const softer = Math.min(before, after);
  const dB = Math.max(0, softer - Math.min(...between));
  return { dB, sec: between.filter((level) => level < softer - dB / 2).length * HOP_SEC };
}

/** How long it takes from 20 dB to 3 dB below the peak; nothing where it doesn't begin that low. */
function rise(levels: Float64Array): number[] {
  const peak = Math.max(...levels);
  const top = levels.findIndex((level) => level >= peak - 3);
  for (let i = top; i >= 0; i--) if (levels[i] < peak - 20) return [(top - i) * HOP_SEC];
  return [];
}

/** Pitch in the first 50 ms from the held pitch, in cents; the place of the strongest comb within 120 cents. */
function slide(samples: Float32Array, sampleRate: number, note: KnownNote): number {
  let best = Number.NEGATIVE_INFINITY;
  let found = 0;
  for (let cents = -120; cents <= 120; cents += 5) {
    let sum = 0;
    for (let k = 1; k <= 5; k++) {
      const hz = k * note.f0Hz * 2 ** (cents / 1200);
      sum += Math.log(magnitude(samples, sampleRate, note.onsetSec + 0.01, note.onsetSec + 0.06, hz) + 1e-5);
    }
    if (sum > best) {
      best = sum;
      found = cents;
    }
  }
  return found;
}
