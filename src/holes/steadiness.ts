import type { SoundEvent } from '../analysis/notes/events.ts';
import { logStudentT, median } from '../statistics.ts';

/** Notes this close to each other may come from one reed, in semitones. */
const SAME_REED = 0.45;
/** Scatter of one reed's notes around its pitch, in cents. */
const NOTE_CENTS = 5;
/**
 * How far reeds lie from the harp's tuning, in cents: most reeds of a harp in equal temperament, and the rest or those
 * of a just one.
 */
const REED_CENTS = 6;
const STRAY_REED_CENTS = 22;
const STRAY_SHARE = 0.12;
/** Peak of Student's t with four degrees of freedom, relative to the normal distribution's factor 1 / √(2π). */
const T4_SCALE = 0.375 * Math.sqrt(2 * Math.PI);

/** Log score of an event as a natural note this many cents above its reed, up to the constant that all scores share. */
export type NaturalFit = (t: number, cents: number) => number;

/**
 * How well each event fits as a natural note. A reed stays where it was tuned, and its notes agree to a few cents; a
 * bend is wherever the player held it. So the expected pitch of a note follows from the harp's tuning and from the
 * other notes near this pitch: the normal posterior of the reed's pitch, with the tails of Student's t for notes that
 * were scooped or shaken (Gelman et al., Bayesian Data Analysis, 3rd ed., 2.5 and 17.2).
 */
export function naturalFits(events: readonly SoundEvent[]): NaturalFit {
  const peers = events.map((event) => {
    const above = events
      .filter((other) => other !== event && Math.abs(other.midi - event.midi) < SAME_REED)
      .map((other) => 100 * (other.midi - event.midi));
    return { precision: above.length / NOTE_CENTS ** 2, above: above.length === 0 ? 0 : median(above) };
  });
  return (t, cents) => {
    const { precision, above } = peers[t];
    const density = (reedCents: number): number => {
      const total = precision + 1 / reedCents ** 2;
      const expected = (precision * (cents + above)) / total;
      return T4_SCALE * Math.exp(logStudentT(cents - expected, Math.sqrt(NOTE_CENTS ** 2 + 1 / total), 4));
    };
    return Math.log((1 - STRAY_SHARE) * density(REED_CENTS) + STRAY_SHARE * density(STRAY_REED_CENTS));
  };
}
