import type { SoundEvent } from '../analysis/notes/events.ts';
import { logStudentT } from '../statistics.ts';

/** Notes this close to each other may come from one reed, in semitones. */
const SAME_REED = 0.45;
/** Scatter of one reed's notes around its pitch, in cents. */
const NOTE_CENTS = 5;
/**
 * How far reeds lie from the harp's tuning, in cents: most reeds of a harp in equal temperament, and the rest or those
 * of a just one. From 0.05 to 0.12 the share of the rest changes no harp that is found.
 */
const REED_CENTS = 6;
const STRAY_REED_CENTS = 22;
const STRAY_SHARE = 0.05;
/** Peak of Student's t with four degrees of freedom, relative to the normal distribution's factor 1 / √(2π). */
const T4_SCALE = 0.375 * Math.sqrt(2 * Math.PI);
/** Scores are kept for this many steps on either side of a reed's proper pitch, in cents: beyond any reading of an event. */
const STEP_CENTS = 3;
const STEPS = 32;
const OFFSETS = 2 * STEPS + 1;

/** Log score of an event as a natural note this many cents above its reed, up to the constant that all scores share. */
export type NaturalFit = (t: number, cents: number) => number;

/**
 * How well each event fits as a natural note. A reed stays where it was tuned, and its notes agree to a few cents; a
 * bend is wherever the player held it. So the events near one pitch share a reed, whose pitch is normal around the
 * harp's tuning, and scatter around it with the tails of Student's t, as notes are scooped or shaken (Gelman et al., Bayesian
 * Data Analysis, 3rd ed., 2.5 and 17.2). A reed that would be out of tune is paid for once: each of its n events bears its own
 * misfit under the posterior of the reed's pitch, and an nth of what that posterior departs from the tuning (its
 * Kullback-Leibler divergence). These sum to the log likelihood of the n events together.
 */
export function naturalFits(events: readonly SoundEvent[]): NaturalFit {
  const prior = reedPrior();
  const tables = events.map((event) => {
    const near = events.filter((other) => Math.abs(other.midi - event.midi) < SAME_REED);
    return scoresAround(
      near.map((other) => 100 * (other.midi - event.midi)),
      prior,
    );
  });
  return (t, cents) => {
    const at = cents / STEP_CENTS + STEPS;
    if (at < 0 || at > OFFSETS - 1) return -Infinity;
    const below = Math.min(OFFSETS - 2, Math.floor(at));
    return tables[t][below] + (at - below) * (tables[t][below + 1] - tables[t][below]);
  };
}

/** Log probability that a reed lies this many steps from the harp's tuning. */
function reedPrior(): Float64Array {
  const normal = (cents: number, spread: number): number => Math.exp(-0.5 * (cents / spread) ** 2) / spread;
  const weights = Float64Array.from({ length: OFFSETS }, (_, i) => {
    const cents = (i - STEPS) * STEP_CENTS;
    return (1 - STRAY_SHARE) * normal(cents, REED_CENTS) + STRAY_SHARE * normal(cents, STRAY_REED_CENTS);
  });
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return weights.map((weight) => Math.log(weight / total));
}

/**
 * Scores of one event, step by step, as a note that lies there.
 * @param aboveCents  how far the events of its reed lie above it, itself included
 */
function scoresAround(aboveCents: readonly number[], prior: Float64Array): Float64Array {
  const own = new Float64Array(2 * OFFSETS - 1);
  const together = new Float64Array(2 * OFFSETS - 1);
  for (let k = 0; k < own.length; k++) {
    const cents = (k - OFFSETS + 1) * STEP_CENTS;
    own[k] = logNote(cents);
    for (const above of aboveCents) together[k] += logNote(cents + above);
  }
  const scores = new Float64Array(OFFSETS);
  const posterior = new Float64Array(OFFSETS);
  for (let c = 0; c < OFFSETS; c++) {
    let most = Number.NEGATIVE_INFINITY;
    for (let reed = 0; reed < OFFSETS; reed++) {
      posterior[reed] = prior[reed] + together[c - reed + OFFSETS - 1];
      most = Math.max(most, posterior[reed]);
    }
    let total = 0;
    for (let reed = 0; reed < OFFSETS; reed++) total += Math.exp(posterior[reed] - most);
    const logTotal = most + Math.log(total);
    for (let reed = 0; reed < OFFSETS; reed++) {
      const log = posterior[reed] - logTotal;
      scores[c] += Math.exp(log) * (own[c - reed + OFFSETS - 1] - (log - prior[reed]) / aboveCents.length);
    }
  }
  return scores;
}

const logNote = (cents: number): number => Math.log(T4_SCALE) + logStudentT(cents, NOTE_CENTS, 4);
