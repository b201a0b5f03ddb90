import { decodeChain } from '../../decode/chain.ts';
import { logOddsOf } from '../../decode/small-network.ts';
import { median } from '../../statistics.ts';
import { CONTOUR_STEP_SEC, type SoundEvent } from '../notes/events.ts';
import { PLAYED_NETWORK } from './played-network.ts';

/** Keep the logarithms of a tone without jitter and of an event without length finite, in semitones and seconds. */
const LEAST_JITTER = 0.003;
const SHORTEST_SEC = 0.01;
/** How much the features of the event and what the pitch network heard of it count; the first as low as keeps out voices. */
const EVENT_WEIGHT = 0.7;
const MOST_EVENT_NATS = 6;
const SOUNDING_WEIGHT = 1.2;
/** Of an event less harmonic than this the features say little: several reeds may sound, of which no harp tells yet; in dB. */
const CLEAR_DB = 10;
/** Of several reeds the one counts that is heard least; in nats, how much more the whole says. */
const CHORD_NATS = 2;
/** Nats for going from playing to talk or back, at once and after a pause of a second. */
const TURN_COST = 5;
const TURN_COST_AFTER_PAUSE = 1;

/**
 * Probability that each event is a played note. A reed holds its pitch within some cents from one hundredth of a
 * second to the next and sounds in many partials; a voice glides and keeps to no scale. Events near each other are
 * mostly of one kind, so they are judged together.
 */
export function playedProbabilities(events: readonly SoundEvent[]): number[] {
  const odds = events.map(
    (event) =>
      EVENT_WEIGHT * (event.set === undefined && event.harmonicityDb > CLEAR_DB ? eventLogOdds(event) : 0) +
      SOUNDING_WEIGHT * (event.soundingNats + (event.set === undefined ? 0 : CHORD_NATS)),
  );
  const { posterior } = decodeChain(events.length, 2, {
    observe: (t, played) => (played === 1 ? odds[t] : 0),
    move: (t, i, j) => {
      if (i === j) return 0;
      const pauseSec = Math.min(1, Math.max(0, events[t].onsetSec - events[t - 1].offsetSec));
      return -(TURN_COST + (TURN_COST_AFTER_PAUSE - TURN_COST) * pauseSec);
    },
  });
  return events.map((_, t) => posterior[2 * t + 1]);
}

/** Log odds that an event was played by its features, which say little where several reeds sound at once. */
function eventLogOdds(event: SoundEvent): number {
  const odds = logOddsOf(PLAYED_NETWORK, eventFeatures(event));
  return Math.max(-MOST_EVENT_NATS, Math.min(MOST_EVENT_NATS, odds));
}

/**
 * What tells a played note from voiced speech, noise and handling: ln of the length in seconds; harmonicity in units
 * of 10 dB; mean evidence for the pitch (see Salience); ln of the mean pitch step from one hundredth of a second to
 * the next, in semitones; how far the last third of the held part lies from the first, in semitones, at most 1 (speech
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

/** The pitches of a contour where it has one. */
export const measuredPitches = (contourMidi: Float32Array): Float32Array =>
  contourMidi.filter((midi) => !Number.isNaN(midi));

/** Mean step between neighbours, in semitones; a semitone when there are none. */
export function meanStep(contour: Float32Array): number {
  if (contour.length < 2) return 1;
  let sum = 0;
  for (let i = 1; i < contour.length; i++) sum += Math.abs(contour[i] - contour[i - 1]);
  return sum / (contour.length - 1);
}
