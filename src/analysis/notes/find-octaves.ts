import type { Samples } from '../../audio/samples.ts';
import { meanOver, quantile } from '../../statistics.ts';
import { midiToHz } from '../../units.ts';
import { rowOf, soundingAt } from '../pitch/evidence.ts';
import type { Frames } from '../pitch/frames.ts';
import type { SoundEvent } from './events.ts';
import { freedomOfSecondPartial } from './phase-lock.ts';
import type { ReedSet } from './states.ts';

const OCTAVE = 12;
/** Pitches closer than this are of one reed, in semitones. */
const SAME_PITCH = 0.3;
/** Partials up to this frequency are used, and there must be at least this many. */
const HIGHEST_HZ = 7500;
const LEAST_PARTIALS = 5;
/**
 * Log odds that the upper reed sounds too: by how surely the network hears it, in nats; by how far the even partials stand
 * out, in dB; and by how freely the second partial moves, in nats. A logistic regression on 152 octaves and 279 single notes,
 * rendered (seeds 77 and 78) and by players (tests/bench/fit/fit-octaves.ts); of 144 of another seed it misjudges 7.
 */
const PER_NAT = 0.78;
const PER_DB = 0.17;
const PER_FREEDOM = 1.73;
const AT_NOTHING = 0.2;
const LEAST_HEARD_NATS = -4;
const MOST_DB = 10;
/** Above this, a note is evidence that the take has octaves … */
const SURE_NATS = 1.6;
/** … and in such a take every note above this is an octave. */
const AMONG_OCTAVES_NATS = -1.5;
/** In other takes a note must exceed this; below it, only the lower of two decoded reeds is kept. */
const ALONE_NATS = 2.5;
/**
 * A take has octaves if at least this many notes, and this share of those that could be octaves, surely are. In rendered
 * takes with octaves among other notes it is two in ten or more, in takes of single notes at most 1 in 13, or 2 in 40; none
 * of the 750 notes of the corpus is taken for an octave.
 */
const LEAST_OCTAVES = 2;
const OCTAVE_SHARE = 0.15;

/**
 * Finds octaves. All partials of a reed coincide with the even ones of the reed an octave below, so the upper reed can be
 * heard only by how far these stand out, by how they beat, and by its own attack. A single reed can sound the same, so a
 * doubtful note is an octave only in takes that have certain ones.
 * @param sets  what one breath of the harp can sound
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

/** Log odds in nats that the reed an octave above an event sounds too, from its `octaveFeatures`. */
function octaveOdds([heard, db, freedom]: readonly number[]): number {
  return PER_NAT * heard + PER_DB * db + PER_FREEDOM * freedom + AT_NOTHING;
}

/**
 * Evidence that the reed an octave above an event sounds too: how surely the network hears it, in nats, at least -4; how far
 * the even partials stand out, in dB, at most 10; and how freely the second one moves, in nats, or 0 if the network hears
 * nothing.
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
 * How far the even partials stand out above the mean of their neighbours: the median, in dB; 0 if there are too few.
 */
function evenOverOdd({ partialsDb, expectedMidi }: SoundEvent): number {
  const count = Math.min(partialsDb.length, Math.floor(HIGHEST_HZ / midiToHz(expectedMidi)));
  if (count < LEAST_PARTIALS) return 0;
  const evens: number[] = [];
  for (let k = 2; k < Math.min(count, 9); k += 2)
    evens.push(partialsDb[k - 1] - (partialsDb[k - 2] + partialsDb[k]) / 2);
  return quantile(evens, 0.5);
}
