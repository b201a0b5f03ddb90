import { decodeChain } from '../../decode/chain.ts';
import { logOddsOf } from '../../decode/small-network.ts';
import { median } from '../../statistics.ts';
import { CONTOUR_STEP_SEC, type SoundEvent } from '../notes/events.ts';
import { PLAYED_NETWORK } from './played-network.ts';

/** Keep the logarithms finite for a tone without jitter and an event without length, in semitones and seconds. */
const LEAST_JITTER = 0.003;
const SHORTEST_SEC = 0.01;
/** Weights of the event's features and of what the pitch network heard; the first is as low as it can be while voices are kept out. */
const EVENT_WEIGHT = 0.7;
const MOST_EVENT_NATS = 6;
const SOUNDING_WEIGHT = 1.2;
/** In an event less harmonic than this, in dB, several reeds may sound, and its features say little while the harp is unknown. */
const CLEAR_DB = 10;
/** Of several reeds the least certain counts; this is added because the whole is more certain, in nats. */
const CHORD_NATS = 2;
/** Cost of going from playing to talk or back, in nats: immediately, and after a pause of a second. */
const TURN_COST = 5;
const TURN_COST_AFTER_PAUSE = 1;

/**
 * Probability that each event is a played note. A reed holds its pitch to within a few cents from frame to frame and sounds
 * in many partials; a voice glides and keeps to no scale. Events close to each other are mostly of one kind, so they are
 * judged together.
 */
export function playedProbabilities(events: readonly SoundEvent[]): number[] {
  const odds = events.map(
    (event) =>
      EVENT_WEIGHT * (event.set === undefined && event.harmonicityDb > CLEAR_DB ? eventLogOdds(event) : 0) +
      SOUNDING_WEIGHT * (event.soundingNats + (event.set === undefined ? 0 : CHORD_NATS)),
  );
  const { posterior } = decodeChain(events.length, 2, {
    observed: Float64Array.from(odds.flatMap((nats) => [0, nats])),
    move: (t, i, j) => {
      if (i === j) return 0;
      const pauseSec = Math.min(1, Math.max(0, events[t].onsetSec - events[t - 1].offsetSec));
      return -(TURN_COST + (TURN_COST_AFTER_PAUSE - TURN_COST) * pauseSec);
    },
  });
  return events.map((_, t) => posterior[2 * t + 1]);
}

/** Log odds that an event was played, from its features; reduced where several reeds sound at once, which they describe badly. */
function eventLogOdds(event: SoundEvent): number {
  const odds = logOddsOf(PLAYED_NETWORK, eventFeatures(event));
  return Math.max(-MOST_EVENT_NATS, Math.min(MOST_EVENT_NATS, odds));
}

/**
 * Features that distinguish a played note from voiced speech, noise and handling: ln of the length in seconds; harmonicity
 * in units of 10 dB; mean evidence for the pitch (see Salience); ln of the mean step in pitch from one 10 ms frame to the
 * next, in semitones; how far the last third of the held part lies from the first, in semitones, at most 1 (speech
 * glides); how far the pitch lies from the expected one, in semitones, at most 0.6 (a voice keeps to no scale).
 */
export function eventFeatures(event: SoundEvent): number[] {
  const contour = measuredPitches(event.contourMidi);
  const attack = Math.floor((event.heldSec[0] - event.onsetSec) / CONTOUR_STEP_SEC);
  const held = contour.length - attack < 3 ? contour : contour.slice(attack);
  const third = Math.max(1, Math.floor(held.length / 3));
  const trend = held.length < 3 ? 1 : Math.abs(median(held.slice(-third)) - median(held.slice(0, third)));
  return [
    Math.log(Math.max(SHORTEST_SEC, event.offsetSec - event.onsetSec)),
    event.harmonicityDb / 10,
    event.strength,
    Math.log(meanStep(contour) + LEAST_JITTER),
    Math.min(1, trend),
    Math.min(0.6, Math.abs(event.midi - event.expectedMidi)),
  ];
}

/** The measured pitches of a contour. */
export const measuredPitches = (contourMidi: Float32Array): Float32Array =>
  contourMidi.filter((midi) => !Number.isNaN(midi));

/** Mean step between neighbouring values, in semitones; a semitone if there are none. */
export function meanStep(contour: Float32Array): number {
  if (contour.length < 2) return 1;
  let sum = 0;
  for (let i = 1; i < contour.length; i++) sum += Math.abs(contour[i] - contour[i - 1]);
  return sum / (contour.length - 1);
}
