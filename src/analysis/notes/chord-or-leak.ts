import type { Samples } from '../../audio/samples.ts';
import { Kernel } from '../../kernel.ts';
import { median } from '../../statistics.ts';
import { midiToHz, powerToDb } from '../../units.ts';
import { TICK_SEC } from '../pitch/partial-level.ts';
import { LANES } from '../pitch/quad-transform.ts';
import { SpectrumQuad } from '../pitch/spectrum.ts';
import type { Stretch } from './rearticulation/split-rearticulations.ts';
import type { ReedSet } from './states.ts';

/** Long enough to part the partials of neighbouring reeds. */
const WINDOW_SEC = 0.0928;
const KERNEL_BYTES_PER_HZ = 16;
const PARTIALS = 8;
const PLACES = 8;
/** Partials nearer to each other than so many bins can't be told apart. */
const BINS_APART = 3;
const LEAST_POWER = 1e-12;
/** A reed softer than the loudest by more than this is a leak where single notes are played … */
const LEAK_DB = -3.5;
/**
 * … by more than this where three and more sound: leaks rarely come in twos. Measured on rendered sound: of 147 sets of three
 * and more nine in ten lie above -8, and none was a single note.
 */
const LEAK_OF_SEVERAL_DB = -9;
/** … and by more than this where chords are played. */
const CHORD_LEAK_DB = -18;
/** From here on a pair counts for the habit of playing chords. */
const LOUD_PAIR_DB = -5;
/** … and a softer one where every other note at least has such a reed beside it, which no leak is that often. */
const USUAL_PAIR_DB = -8;
const USUAL_SHARE = 0.5;
/** The loudest reed is the melody's when the others are softer by this; else the lowest is, as in labels that others made. */
const CLEARLY_DB = 12;
/** Chords are played where at least this share of the notes are of several loud reeds. */
const CHORD_SHARE = 0.12;

/**
 * Tells reeds that were meant from those that slipped in: what is as loud as the note is a chord, what is fainter a leak,
 * and in between the take's own habits decide. A leak is taken out of the set; what is left is as before.
 */
export function chordsOrLeaks(samples: Samples, stretches: readonly Stretch[]): Stretch[] {
  if (stretches.every(({ set }) => set === undefined || set.shake)) return [...stretches];
  const meter = new ReedLevels(samples);
  const levels = stretches.map(({ set, fromTick, toTick }) =>
    set === undefined || set.shake ? null : meter.measure(set.midis, fromTick, toTick),
  );
  const shareOfPairs = (leastDb: number): number =>
    levels.filter((db) => db !== null && Math.min(...db) > (db.length > 2 ? LEAK_OF_SEVERAL_DB : leastDb))
      .length / stretches.length;
  const playsChords = shareOfPairs(LOUD_PAIR_DB) >= CHORD_SHARE || shareOfPairs(USUAL_PAIR_DB) >= USUAL_SHARE;
  return stretches.map((stretch, i) => {
    const db = levels[i];
    const { set } = stretch;
    if (db === null || set === undefined) return stretch;
    const leakDb = playsChords ? CHORD_LEAK_DB : db.length > 2 ? LEAK_OF_SEVERAL_DB : LEAK_DB;
    return without(stretch, set, db, leakDb);
  });
}

/** The stretch without the reeds that are softer than the loudest by more than `leakDb`; its pitch is the loudest one's. */
function without(stretch: Stretch, set: ReedSet, db: readonly number[], leakDb: number): Stretch {
  const keeps = db.map((level) => level > leakDb);
  const { set: _, ...plain } = stretch;
  const midis = set.midis.filter((_midi, k) => keeps[k]);
  const clearly = db.findIndex(
    (level) => level === 0 && db.every((other) => other === 0 || other < -CLEARLY_DB),
  );
  const midi = clearly >= 0 ? set.midis[clearly] : midis[0];
  if (midis.length === set.midis.length) return { ...stretch, midi };
  if (midis.length === 1) return { ...plain, midi: midis[0] };
  const holes = set.holes.filter((_hole, k) => keeps[k]);
  return { ...plain, midi, set: { ...set, midis, holes } };
}

/** How loud each of some reeds is against the loudest of them. */
class ReedLevels {
  readonly #spectrum: SpectrumQuad;

  constructor(samples: Samples) {
    this.#spectrum = new SpectrumQuad(
      new Kernel(KERNEL_BYTES_PER_HZ * samples.sampleRate),
      samples,
      WINDOW_SEC,
    );
  }

  /** @returns level of each in dB, 0 for the loudest; by the partials that none of the others has, 0 where there are none */
  measure(midis: readonly number[], fromTick: number, toTick: number): number[] {
    const { fourier, binHz } = this.#spectrum;
    const fromSec = fromTick * TICK_SEC;
    const lengthSec = (toTick - fromTick) * TICK_SEC;
    const bins = midis.map((midi) => midiToHz(midi) / binHz);
    const powers = midis.map(() => [] as number[]);
    for (let place = 0; place < PLACES; place += LANES) {
      const at = (lane: number): number =>
        fromSec + (0.15 + (0.75 * (place + lane)) / (PLACES - 1)) * lengthSec;
      this.#spectrum.transform(at(0), at(1), at(2), at(3));
      fourier.fillPower(1, fourier.bins);
      for (let lane = 0; lane < LANES; lane++) {
        bins.forEach((step, r) => {
          const own = ownPartials(bins, r).filter((k) => k * step < fourier.bins - 3);
          if (own.length === 0) return;
          const sum = own.reduce((total, k) => total + powerAround(fourier.power, k * step, lane), 0);
          powers[r].push(sum / own.length);
        });
      }
    }
    const db = powers.map((values) => (values.length === 0 ? null : powerToDb(median(values) + LEAST_POWER)));
    const loudest = db.reduce<number>(
      (most, level) => Math.max(most, level ?? most),
      Number.NEGATIVE_INFINITY,
    );
    return db.map((level) => (level === null ? 0 : level - loudest));
  }
}

/** Numbers of a reed's partials that none of the others has one near to. */
function ownPartials(bins: readonly number[], reed: number): number[] {
  return Array.from({ length: PARTIALS }, (_, i) => i + 1).filter((k) =>
    bins.every((other, r) => {
      if (r === reed) return true;
      const place = k * bins[reed];
      return Math.abs(place - Math.max(1, Math.round(place / other)) * other) >= BINS_APART;
    }),
  );
}

/** The highest of three bins around a place. */
function powerAround(power: Float32Array, place: number, lane: number): number {
  const bin = Math.round(place);
  let most = 0;
  for (let k = bin - 1; k <= bin + 1; k++) most = Math.max(most, power[LANES * k + lane]);
  return most;
}
