import type { Samples } from '../../audio/samples.ts';
import { meanOver, quantile } from '../../statistics.ts';
import { midiToHz } from '../../units.ts';
import { rowOf, soundingAt } from '../pitch/evidence.ts';
import type { Frames } from '../pitch/frames.ts';
import type { SoundEvent } from './events.ts';
import { freedomOfSecondPartial } from './phase-lock.ts';
import type { ReedSet } from './states.ts';

const OCTAVE = 12;
/** Pitches nearer than this are one reed's, in semitones. */
const SAME_PITCH = 0.3;
/** Partials that are looked at lie below this, and so many there have to be. */
const HIGHEST_HZ = 7500;
const LEAST_PARTIALS = 5;
/**
 * Log odds that the upper reed sounds along: by how surely the network hears it, in nats, by how far the even partials stand out,
 * in dB, and by how freely the second one moves, in nats. A logistic regression on 152 octaves and 279 single notes, rendered (seeds 77 and 78)
 * and of players (tests/bench/fit/fit-octaves.ts); of 144 of another seed it mistakes 7.
 */
const PER_NAT = 0.78;
const PER_DB = 0.17;
const PER_FREEDOM = 1.73;
const AT_NOTHING = 0.2;
const LEAST_HEARD_NATS = -4;
const MOST_DB = 10;
/** From here on a note counts for the habit of playing octaves … */
const SURE_NATS = 1.6;
/** … and in a take with that habit it is one from here on. */
const AMONG_OCTAVES_NATS = -1.5;
/** In a take without it, one from here on; of two reeds that the decoder heard, only the lower is left below that. */
const ALONE_NATS = 2.5;
/**
 * A take has octaves when so many notes, and this share of those that could be one, surely are. Measured: of rendered takes with
 * octaves among other notes two in ten and more, of single notes at most 1 in 13, or 2 in 40; none of the 750 notes of the corpus is
 * taken for an octave.
 */
const LEAST_OCTAVES = 2;
const OCTAVE_SHARE = 0.15;

/**
 * Octaves: of two reeds an octave apart all partials of the upper one lie on even ones of the lower, so that it is heard only
 * by how far these stand out, by their beats, and by its own attack. A reed by itself may have such a sound, too; so a doubtful
 * one is an octave only where a take has others that are sure.
 * @param sets what one breath of the harp can sound
 */
export function findOctaves(
  samples: Samples,
  events: readonly SoundEvent[],
  frames: Frames,
  sets: readonly ReedSet[],
): SoundEvent[] {
  const octaves = sets.filter(isOctave);
  const candidates = events.map((event) => {
    const { set: heard } = event;
    if (heard !== undefined && !isOctave(heard)) return null;
    const set = heard ?? octaves.find(({ midis }) => Math.abs(midis[0] - event.expectedMidi) < SAME_PITCH);
    return set === undefined
      ? null
      : { set, nats: octaveOdds(octaveFeatures(samples, event, frames, set.midis[1])) };
  });
  const possible = candidates.filter((one) => one !== null);
  const sure = possible.filter(({ nats }) => nats >= SURE_NATS).length;
  const playsOctaves = sure >= Math.max(LEAST_OCTAVES, OCTAVE_SHARE * possible.length);
  return events.map((event, i) => {
    const candidate = candidates[i];
    if (candidate === null) return event;
    if (candidate.nats >= (playsOctaves ? AMONG_OCTAVES_NATS : ALONE_NATS))
      return { ...event, set: candidate.set };
    if (event.set === undefined || playsOctaves) return event;
    const { set: _, ...single } = event;
    return single;
  });
}

const isOctave = ({ midis, shake }: ReedSet): boolean =>
  !shake && midis.length === 2 && Math.abs(midis[1] - midis[0] - OCTAVE) < SAME_PITCH;

/** Log odds in nats that the reed an octave above an event sounds along, by its `octaveFeatures`. */
function octaveOdds([heard, db, freedom]: readonly number[]): number {
  return PER_NAT * heard + PER_DB * db + PER_FREEDOM * freedom + AT_NOTHING;
}

/**
 * What tells that the reed an octave above an event sounds along: how surely the network hears it, in nats, -4 at least; how far
 * the even partials stand out, in dB, 10 at most; how freely the second one moves, in nats, or 0 where the network hears nothing.
 */
export function octaveFeatures(
  samples: Samples,
  event: SoundEvent,
  frames: Frames,
  upperMidi: number,
): [heardNats: number, evenDb: number, freedomNats: number] {
  const row = rowOf(frames.evidence, upperMidi);
  const from = Math.round(event.onsetSec / frames.hopSec);
  const to = Math.max(from + 1, Math.round(event.offsetSec / frames.hopSec));
  const nats = meanOver(from, to, (t) => soundingAt(frames.evidence, row, t));
  const heard = Math.max(LEAST_HEARD_NATS, nats);
  const db = Math.min(MOST_DB, evenOverOdd(event));
  return [heard, db, heard === LEAST_HEARD_NATS ? 0 : freedomOfSecondPartial(samples, event, event.f0Hz)];
}

/**
 * How far the middle one of the even partials stands out from the mean of those on both sides, in dB; nothing where there are
 * too few.
 */
function evenOverOdd({ partialsDb, expectedMidi }: SoundEvent): number {
  const count = Math.min(partialsDb.length, Math.floor(HIGHEST_HZ / midiToHz(expectedMidi)));
  if (count < LEAST_PARTIALS) return 0;
  const evens: number[] = [];
  for (let k = 2; k < Math.min(count, 9); k += 2)
    evens.push(partialsDb[k - 1] - (partialsDb[k - 2] + partialsDb[k]) / 2);
  return quantile(evens, 0.5);
}
