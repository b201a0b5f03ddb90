import { midiToHz } from '../../units.ts';
import type { SoundEvent } from './events.ts';
import type { ReedSet } from './states.ts';

const OCTAVE = 12;
/** Pitches nearer than this are one reed's, in semitones. */
const SAME_PITCH = 0.3;
/** Partials that are looked at lie below this, and so many there have to be. */
const HIGHEST_HZ = 7500;
const LEAST_PARTIALS = 5;
/** Even partials stand out from those beside them by this where the reed an octave above sounds along, in dB … */
const STANDS_OUT_DB = 5;
/** … and in a take with octaves from here on. */
const STANDS_OUT_AMONG_OCTAVES_DB = 3;
/** A take has octaves when so many notes, and this share of those that could be one, stand out. */
const LEAST_OCTAVES = 4;
const OCTAVE_SHARE = 0.4;

/**
 * Octaves: of two reeds an octave apart all partials of the upper one lie on even ones of the lower, so that it is heard only
 * by how far these stand out. A reed by itself may have such a sound, too; so notes are octaves only where many notes of a take
 * that could be one stand out. Measured: single notes of recorded players by -23 to 6 dB (middle -6), of rendered ones by -13
 * to 9, of rendered octaves by -1 to 13 (middle 7).
 * @param sets what one breath of the harp can sound
 */
export function findOctaves(events: readonly SoundEvent[], sets: readonly ReedSet[]): SoundEvent[] {
  const octaves = sets.filter(
    ({ midis, shake }) => !shake && midis.length === 2 && Math.abs(midis[1] - midis[0] - OCTAVE) < SAME_PITCH,
  );
  const candidates = events.map((event) => {
    const set = octaves.find(({ midis }) => Math.abs(midis[0] - event.expectedMidi) < SAME_PITCH);
    return event.set !== undefined || set === undefined ? null : { set, db: evenOverOdd(event) };
  });
  const all = candidates.filter((one) => one !== null);
  const outstanding = all.filter(({ db }) => db >= STANDS_OUT_DB).length;
  if (outstanding < LEAST_OCTAVES || outstanding < OCTAVE_SHARE * all.length) return [...events];
  return events.map((event, i) => {
    const candidate = candidates[i];
    return candidate !== null && candidate.db >= STANDS_OUT_AMONG_OCTAVES_DB
      ? { ...event, set: candidate.set }
      : event;
  });
}

/** How far the middle one of the even partials stands out from the mean of those on both sides, in dB; nothing where there are too few. */
function evenOverOdd({ partialsDb, expectedMidi }: SoundEvent): number {
  const count = Math.min(partialsDb.length, Math.floor(HIGHEST_HZ / midiToHz(expectedMidi)));
  if (count < LEAST_PARTIALS) return Number.NEGATIVE_INFINITY;
  const evens: number[] = [];
  for (let k = 2; k < Math.min(count, 9); k += 2)
    evens.push(partialsDb[k - 1] - (partialsDb[k - 2] + partialsDb[k]) / 2);
  return evens.sort((a, b) => a - b)[(evens.length - 1) >> 1];
}
