import type { SoundEvent } from '../analysis/events.ts';
import { median } from '../analysis/own-level.ts';
import { parseHarpKey } from '../harp/keys.ts';
import { reedCents, TEMPERAMENTS, type Temperament } from '../harp/temperaments.ts';
import { A4_MIDI, hzToMidi, ISO_A4_HZ, midiToHz } from '../units.ts';
import type { HoleReading } from './holes.ts';

/** What the natural notes of a take say of its harp's tuning. */
export interface TuningFit {
  readonly a4Hz: number;
  readonly temperament: string;
  /** Whether the take tells the temperament from the others; if not, `equal` is assumed. */
  readonly told: boolean;
  /** Natural notes that were used. */
  readonly notes: number;
}

/** Fewer natural notes than this say nothing about the tuning. */
const FEWEST_NOTES = 6;
const SHORTEST_SEC = 0.15;
const LEAST_PROBABILITY = 0.6;
/** Deviations are trusted to this at best, in cents: breath and room move each note. */
const LEAST_SPREAD_CENTS = 1.5;
/** A temperament must be this many nats likelier than the rest of its kind to be told. */
const TOLD_NATS = 5;

/**
 * Estimates A4 and the temperament from the natural notes: the median deviation under each named temperament, and
 * which of them leaves the least (Laplace likelihood of the deviations, so that single reeds may be off).
 * @param given what the player named; it is kept
 * @returns null when too few natural notes are there
 */
export function fitTuning(
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  key: string,
  given: { readonly a4Hz?: number | undefined; readonly temperament?: Temperament | undefined },
): TuningFit | null {
  const { tonicMidi } = parseHarpKey(key);
  const naturals = events.flatMap((event, i) => {
    const { note, probability } = readings[i][0];
    const lengthSec = event.heldSec[1] - event.heldSec[0];
    if (note.bend > 0 || note.over || probability < LEAST_PROBABILITY || lengthSec < SHORTEST_SEC) return [];
    return [{ note, cents: 100 * (event.midi - note.midi) }];
  });
  if (naturals.length < FEWEST_NOTES) return null;
  const fits = (given.temperament ? [given.temperament] : TEMPERAMENTS).map((temperament) => {
    const deviations = naturals.map(
      ({ note, cents }) => cents - reedCents(temperament, note.hole, note.breath, note.midi - tonicMidi),
    );
    const offset = given.a4Hz === undefined ? median(deviations) : 100 * (hzToMidi(given.a4Hz) - A4_MIDI);
    const spread = deviations.reduce((sum, value) => sum + Math.abs(value - offset), 0) / deviations.length;
    const logLik = -naturals.length * Math.log(Math.max(LEAST_SPREAD_CENTS, spread));
    return { temperament, offset, logLik };
  });
  const equal = fits[0];
  let best = equal;
  for (const fit of fits) if (fit.logLik > best.logLik) best = fit;
  const rivals = fits.filter((fit) => (fit === equal) !== (best === equal));
  const told = rivals.every((fit) => best.logLik - fit.logLik > TOLD_NATS);
  const chosen = told ? best : equal;
  return {
    a4Hz: given.a4Hz ?? midiToHz(A4_MIDI + chosen.offset / 100, ISO_A4_HZ),
    temperament: chosen.temperament.id,
    told: told || given.temperament !== undefined,
    notes: naturals.length,
  };
}
