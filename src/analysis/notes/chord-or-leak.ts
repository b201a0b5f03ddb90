import type { Samples } from '../../audio/samples.ts';
import { Kernel } from '../../kernel.ts';
import { median } from '../../statistics.ts';
import { midiToHz, powerToDb } from '../../units.ts';
import { TICK_SEC } from '../pitch/partial-level.ts';
import { LANES } from '../pitch/quad-transform.ts';
import { SpectrumQuad } from '../pitch/spectrum.ts';
import type { Stretch } from './rearticulation/split-rearticulations.ts';
import type { ReedSet } from './states.ts';

/** Long enough to separate the partials of neighbouring reeds. */
const WINDOW_SEC = 0.0928;
const KERNEL_BYTES_PER_HZ = 16;
const PARTIALS = 8;
const PLACES = 8;
/** Partials closer than this many bins can't be told apart. */
const BINS_APART = 3;
const LEAST_POWER = 1e-12;
/** A bend may lie this far from its pitch, in semitones. */
const BEND_SHIFTS = [0, -0.15, 0.15, -0.3, 0.3, -0.45, 0.45];
/** A reed softer than the loudest by more than this is a leak in takes of single notes … */
const LEAK_DB = -3.5;
/**
 * … by more than this if three or more sound: leaks rarely come in twos. Of 147 rendered sets of three or more, nine in ten
 * lie above -8 dB, and none was a single note.
 */
const LEAK_OF_SEVERAL_DB = -9;
/** … by more than this in takes with some chords … */
const SOME_LEAK_DB = -8;
/** … and by more than this in takes of chords. */
const CHORD_LEAK_DB = -18;
/** A pair this loud is evidence that the take has chords. */
const LOUD_PAIR_DB = -5;
/** So is a softer pair if many notes have such a reed beside them; leaks are never that frequent. */
const USUAL_PAIR_DB = -8;
const USUAL_SHARE = 0.4;
/** The loudest reed has the melody if the others are softer by this; otherwise the lowest has it, as in labels by others. */
const CLEARLY_DB = 12;
/** A take is of chords if at least this share of its notes have several loud reeds; every rendered one of chords has. */
const CHORD_SHARE = 0.3;
/** It has some chords if this share has; of a leaking player's takes one in six has, too. */
const SOME_SHARE = 0.12;

/**
 * Separates reeds that were meant from reeds that leaked. A reed as loud as the note makes a chord, a faint one is a leak, and
 * in between the habits of the take decide. A leak is removed from the set; everything else stays as it was.
 */
export function chordsOrLeaks(samples: Samples, stretches: readonly Stretch[]): Stretch[] {
  if (stretches.every(({ set }) => set === undefined || set.shake)) return [...stretches];
  const meter = new ReedLevels(samples);
  const levels = stretches.map(({ set, fromTick, toTick }) =>
    set === undefined || set.shake ? null : meter.measure(set, fromTick, toTick),
  );
  const shareOfPairs = (leastDb: number): number =>
    levels.filter((db) => db !== null && Math.min(...db) > (db.length > 2 ? LEAK_OF_SEVERAL_DB : leastDb))
      .length / stretches.length;
  const loudShare = shareOfPairs(LOUD_PAIR_DB);
  const playsChords = loudShare >= CHORD_SHARE || shareOfPairs(USUAL_PAIR_DB) >= USUAL_SHARE;
  const pairLeakDb = loudShare >= SOME_SHARE ? SOME_LEAK_DB : LEAK_DB;
  return stretches.map((stretch, i) => {
    const db = levels[i];
    const { set } = stretch;
    if (db === null || set === undefined) return stretch;
    const leakDb = playsChords ? CHORD_LEAK_DB : db.length > 2 ? LEAK_OF_SEVERAL_DB : pairLeakDb;
    return without(stretch, set, db, leakDb);
  });
}

/** The stretch without reeds that are softer than the loudest by more than `leakDb`; its pitch is that of the loudest. */
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
  // Only pairs have bends, and a pair that loses a reed is none.
  const holes = set.holes.filter((_hole, k) => keeps[k]);
  return { ...plain, midi, set: { ...set, midis, holes } };
}

/** The level of each of several reeds relative to the loudest. */
class ReedLevels {
  readonly #spectrum: SpectrumQuad;

  constructor(samples: Samples) {
    this.#spectrum = new SpectrumQuad(
      new Kernel(KERNEL_BYTES_PER_HZ * samples.sampleRate),
      samples,
      WINDOW_SEC,
    );
  }

  /**
   * A bend is seldom where it is meant to be, so it is measured where it is loudest.
   * @returns level of each in dB, 0 for the loudest; measured on partials that no other reed has, 0 if there are none
   */
  measure({ midis, bends = [] }: ReedSet, fromTick: number, toTick: number): number[] {
    const bent = bends.findIndex((bend) => bend > 0);
    const shifts = bent < 0 ? [0] : BEND_SHIFTS;
    const tunings = shifts.map((shift) => midis.map((midi, i) => (i === bent ? midi + shift : midi)));
    const levels = this.#levels(tunings, fromTick, toTick);
    const bentLevel = (db: readonly (number | null)[]): number => db[bent] ?? Number.NEGATIVE_INFINITY;
    const db = levels.reduce((best, one) => (bentLevel(one) > bentLevel(best) ? one : best));
    const loudest = db.reduce<number>(
      (most, level) => Math.max(most, level ?? most),
      Number.NEGATIVE_INFINITY,
    );
    return db.map((level) => (level === null ? 0 : level - loudest));
  }

  /** @returns for each tuning, the level of each reed in dB; null where every partial is shared */
  #levels(tunings: readonly (readonly number[])[], fromTick: number, toTick: number): (number | null)[][] {
    const { fourier, binHz } = this.#spectrum;
    const fromSec = fromTick * TICK_SEC;
    const lengthSec = (toTick - fromTick) * TICK_SEC;
    const reeds = tunings.map((midis) => {
      const bins = midis.map((midi) => midiToHz(midi) / binHz);
      return bins.map((step, r) => ({
        places: ownPartials(bins, r)
          .map((k) => k * step)
          .filter((place) => place < fourier.bins - 3),
        powers: [] as number[],
      }));
    });
    for (let place = 0; place < PLACES; place += LANES) {
      const at = (lane: number): number =>
        fromSec + (0.15 + (0.75 * (place + lane)) / (PLACES - 1)) * lengthSec;
      this.#spectrum.transform(at(0), at(1), at(2), at(3));
      fourier.fillPower(1, fourier.bins);
      for (const { places, powers } of reeds.flat()) {
        if (places.length === 0) continue;
        for (let lane = 0; lane < LANES; lane++) powers.push(meanAround(fourier.power, places, lane));
      }
    }
    return reeds.map((tuning) =>
      tuning.map(({ powers }) => (powers.length === 0 ? null : powerToDb(median(powers) + LEAST_POWER))),
    );
  }
}

/** Numbers of those of a reed's partials that are not close to a partial of another reed. */
function ownPartials(bins: readonly number[], reed: number): number[] {
  return Array.from({ length: PARTIALS }, (_, i) => i + 1).filter((k) =>
    bins.every((other, r) => {
      if (r === reed) return true;
      const place = k * bins[reed];
      return Math.abs(place - Math.max(1, Math.round(place / other)) * other) >= BINS_APART;
    }),
  );
}

function meanAround(power: Float32Array, places: readonly number[], lane: number): number {
  let sum = 0;
  for (let i = 0; i < places.length; i++) sum += powerAround(power, places[i], lane);
  return sum / places.length;
}

/** The highest of the three bins around a position. */
function powerAround(power: Float32Array, place: number, lane: number): number {
  const bin = Math.round(place);
  let most = 0;
  for (let k = bin - 1; k <= bin + 1; k++) most = Math.max(most, power[LANES * k + lane]);
  return most;
}
