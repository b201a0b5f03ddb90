import type { SoundEvent } from '../analysis/notes/events.ts';
import { parseHarpKey } from '../harp/keys.ts';
import { reedCents, TEMPERAMENTS } from '../harp/temperaments.ts';
import type { Temperament } from '../harp/types.ts';
import { median } from '../statistics.ts';
import { A4_MIDI, hzToMidi, ISO_A4_HZ, midiToHz } from '../units.ts';
import type { HoleReading } from './holes.ts';

/** What the natural notes of a take show about the harp's tuning. */
export interface TuningFit {
  readonly a4Hz: number;
  readonly temperament: string;
  /** Whether the take shows the temperament; if not, `equal` is assumed. */
  readonly told: boolean;
  /** Natural notes that were used. */
  readonly notes: number;
}

/** Fewer natural notes than this don't show the tuning. */
const FEWEST_NOTES = 6;
const SHORTEST_SEC = 0.08;
/** From this length on a note has full weight; shorter ones are still settling. */
const FULL_SEC = 0.15;
const LEAST_PROBABILITY = 0.6;
/** Deviations are accurate to this at best, in cents: breath and room shift each note. */
const LEAST_SPREAD_CENTS = 1.5;
/** Notes further than this many mean deviations from the rest are ignored (Tukey's biweight). */
const OUTLIER_SPREADS = 6;
const ROUNDS = 4;
/**
 * Harps are tuned to 440 Hz or slightly above, and breath pulls them down a little: the prior counts as this many notes
 * at 440 Hz.
 */
const USUAL_NOTES = 1;
/** Where notes are few, those further from 440 Hz than any harp is tuned are taken for misread bends. */
const FARTHEST_OF_FEW_CENTS = 30;
/** A temperament must be this many nats likelier than the others to be reported. */
const TOLD_NATS = 5;

/**
 * Estimates A4 and the temperament from the natural notes: the median deviation under each named temperament, and
 * which of them leaves the least (Laplace likelihood of the deviations, so that single reeds may be off).
 * @param given what the player named, which is kept
 * @returns null when there are too few natural notes
 */
export function fitTuning(
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  key: string,
  given: { readonly a4Hz?: number | undefined; readonly temperament?: Temperament | undefined },
): TuningFit | null {
  const { tonicMidi } = parseHarpKey(key);
  const naturals = naturalNotes(events, readings);
  if (naturals.length < FEWEST_NOTES) return null;
  const fits = (given.temperament ? [given.temperament] : TEMPERAMENTS).map((temperament) => {
    const deviations = naturals.map(
      ({ note, cents }) => cents - reedCents(temperament, note.hole, note.breath, note.midi - tonicMidi),
    );
    const offset =
      given.a4Hz === undefined ? centre(deviations, naturals) : 100 * (hzToMidi(given.a4Hz) - A4_MIDI);
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

/**
 * Reference pitch when there are too few natural notes for a fit: from the few there are, kept near 440 Hz; 440 Hz when
 * there are none.
 */
export function a4OfFewNotes(events: readonly SoundEvent[], readings: readonly HoleReading[][]): number {
  const naturals = naturalNotes(events, readings).filter(
    ({ cents }) => Math.abs(cents) < FARTHEST_OF_FEW_CENTS,
  );
  const deviations = naturals.map(({ cents }) => cents);
  return midiToHz(A4_MIDI + centre(deviations, naturals) / 100, ISO_A4_HZ);
}

/** What is assumed about the tuning, in a sentence, where the notes don't tell and nothing is given. */
export function tuningRemarks(
  fit: TuningFit | null,
  assumedA4Hz: number,
  given: { readonly temperament?: string; readonly a4Hz?: number },
): string[] {
  const equal = given.temperament === undefined ? ['equal temperament'] : [];
  if (equal.length === 0 && given.a4Hz !== undefined) return [];
  if (fit === null) {
    const a4 = given.a4Hz === undefined ? [`A4 = ${Number(assumedA4Hz.toFixed(1))} Hz`] : [];
    return [
      `too few plain notes to be sure how the harp is tuned: assuming ${[...equal, ...a4].join(' and ')}`,
    ];
  }
  if (!fit.told) return ["can't tell whether the harp is tuned equal or just: assuming equal temperament"];
  return [];
}

interface NaturalNote {
  readonly note: HoleReading['note'];
  /** Against equal temperament at A4 = 440 Hz. */
  readonly cents: number;
  /** [0, 1] */
  readonly weight: number;
}

function naturalNotes(events: readonly SoundEvent[], readings: readonly HoleReading[][]): NaturalNote[] {
  return events.flatMap((event, i) => {
    const { note, probability } = readings[i][0];
    const lengthSec = event.heldSec[1] - event.heldSec[0];
    if (note.bend > 0 || note.over || probability < LEAST_PROBABILITY || lengthSec < SHORTEST_SEC) return [];
    return [{ note, cents: 100 * (event.midi - note.midi), weight: Math.min(1, lengthSec / FULL_SEC) }];
  });
}

/**
 * Robust mean (Tukey's biweight: Beaton and Tukey, Technometrics 16(2), 147-185, 1974), pulled towards 0 as if by one
 * more note, which always counts where notes are few.
 */
function centre(deviations: readonly number[], notes: readonly NaturalNote[]): number {
  if (deviations.length === 0) return 0;
  let middle = median(deviations);
  for (let round = 0; round < ROUNDS; round++) {
    const spread = median(deviations.map((value) => Math.abs(value - middle)));
    const widest = OUTLIER_SPREADS * Math.max(LEAST_SPREAD_CENTS, spread);
    const bell = (value: number): number => Math.max(0, 1 - ((value - middle) / widest) ** 2) ** 2;
    let sum = 0;
    let weights = USUAL_NOTES * (notes.length < FEWEST_NOTES ? 1 : bell(0));
    deviations.forEach((value, i) => {
      const weight = bell(value) * notes[i].weight;
      sum += weight * value;
      weights += weight;
    });
    if (weights > 0) middle = sum / weights;
  }
  return middle;
}
