import type { SoundEvent } from '../../analysis/notes/events.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { HoleReading } from '../../holes/holes.ts';
import { median } from '../../statistics.ts';
import { centsBetween, powerToDb } from '../../units.ts';
import type { EchoCurve } from './echo.ts';
import type { HeldSpectrum } from './held-spectrum.ts';
import { type CombFinding, JUDGED_PARTIALS, type ReedComb, type SeenPartial } from './reed-comb.ts';
import { levelWhileSounding, soundingShare } from './sounding.ts';

/** Nothing weaker is reported, or taken for a reed by rules: breath, rooms and codecs leave as much. */
export const WEAKEST_DB = -25;
/** Reeds whose evidence is weighed may seem this weak: a room's notches or a telephone's band can take away 10 dB. */
const WEAKEST_WEIGHED_DB = -36;
/** Reeds beyond the adjacent hole are searched for from this level up: they are meant, or a split gone wrong. */
const MEANT_DB = -10;
/** Holes that a chord or a split spans to one side. */
const WIDEST_HOLES = 4;
/** Shorter windows can separate neighbours, but not all the reeds of a chord. */
const LEAST_CHORD_WINDOW_SEC = 0.1;
/** How far visible partials must stand above the noise on average; how many there must be; and how far a single one must stand. */
const LEAST_RISE_DB = 9;
const LEAST_RISEN_SHARE = 0.6;
const LONE_RISE_DB = 18;
/** A second reed sounds in at least this share of the windows; a sound that comes and goes within a note is not a leak. */
const LEAST_SOUNDING = 0.7;
/** A note that rings on falls by 60 dB in the room's reverberation time: in rooms up to 1 s, faster than this. */
const FALL_DB_PER_SEC = -60;
/** A reed that also sounded in an earlier note must exceed the echo of that note by this. */
const ABOVE_ECHO_DB = 6;
const SAME_PITCH_CENTS = 40;
/** How much likelier an adjacent hole is to sound than one further away, in dB of `worth`. */
const NEXT_HOLE_DB = 6;
/** Number of earlier notes whose tails may still sound, and how close a pitch must be to be theirs. */
const NEIGHBOURS = 3;
const NEAR_PITCH_CENTS = 70;
/** Partials this far above the noise are compared with what was there before the note and after it. */
const CLEAR_DB = 6;
/** Partials that are kept of each note: as many as are searched for in another. */
const KEPT_PARTIALS = 8;
/** A power that counts as none. */
const SILENCE = 1e-14;

/** A reed that may sound along if a reading of the note is right. */
export interface SeenReed {
  readonly note: PlayableNote;
  readonly finding: CombFinding;
  /** Whether its hole is adjacent. */
  readonly next: boolean;
  /** Index in the note's list of the reading whose breath it shares. */
  readonly reading: number;
  /**
   * Level of its clear partials just before and just after the note, relative to that in the note, in dB (medians); null for
   * reeds whose evidence is not weighed.
   */
  readonly around: Around | null;
}

/** Levels before a note and after it, relative to those in it, in dB. */
interface Around {
  readonly beforeDb: number;
  readonly afterDb: number;
}

/** What was found in one note. */
export interface ReedObservation {
  readonly reeds: readonly SeenReed[];
  /** Reeds of the other breath, which can't sound: anything found there is another instrument. */
  readonly decoys: readonly SeenReed[];
  readonly brightness: number | null;
  /** Middle of the last window, in seconds from the first sample; then the time from the first window's middle to it. */
  readonly lastSec: number;
  readonly spanSec: number;
  readonly windowSec: number;
  readonly windows: number;
  /** Powers of the note's own first partials, and of all of them together. */
  readonly partials: readonly number[];
  readonly power: number;
  /** The note itself before its onset and after its end; null if no evidence is weighed. */
  readonly around: Around | null;
}

/** The observation of a note that is too short for any. */
export const NO_OBSERVATION: ReedObservation = {
  reeds: [],
  decoys: [],
  brightness: null,
  lastSec: 0,
  spanSec: 0,
  windowSec: 0,
  windows: 0,
  partials: [],
  power: 0,
  around: null,
};

/** Searches for every reed in the note that `held` has just measured and `comb` has begun. */
export function observeReeds(
  held: HeldSpectrum,
  comb: ReedComb,
  event: SoundEvent,
  readings: readonly HoleReading[],
  notes: readonly PlayableNote[],
): ReedObservation {
  const { windowSec, count: windows, spacingSec, fromSec } = held;
  const spanSec = (windows - 1) * spacingSec;
  const widest = windowSec < LEAST_CHORD_WINDOW_SEC ? 1 : WIDEST_HOLES;
  const reeds = searchReeds(comb, readings, notes, widest);
  const observation = {
    decoys: searchDecoys(comb, readings, notes),
    brightness: comb.brightness(),
    lastSec: fromSec + windowSec / 2 + spanSec,
    spanSec,
    windowSec,
    windows,
    partials: comb.mainPartials.slice(0, KEPT_PARTIALS),
    power: comb.mainPower,
  };
  if (!reeds.some(isWeighed)) return { ...observation, reeds, around: null };
  held.measureAround(event);
  const [before, after] = held.windows;
  const toDb = (power: number): number => powerToDb(power + SILENCE);
  const levels = (of: (window: Float64Array) => number): Around => ({
    beforeDb: of(before),
    afterDb: of(after),
  });
  return {
    ...observation,
    reeds: reeds.map((reed) => {
      if (!isWeighed(reed)) return reed;
      const clear = clearPartials(reed.finding);
      return {
        ...reed,
        around: levels((window) => median(clear.map(({ bin, power }) => toDb(window[bin]) - toDb(power)))),
      };
    }),
    around: levels((window) => toDb(comb.mainPowerIn(window)) - toDb(observation.power)),
  };
}

/** Whether the evidence of a reed is weighed: only for adjacent holes, in the most likely reading of the note. */
export const isWeighed = ({ next, reading }: SeenReed): boolean => next && reading === 0;

/** Whether a reed sounds in enough of its note to be called a second reed. */
export const isSteady = ({ finding }: SeenReed): boolean => soundingShare(finding) >= LEAST_SOUNDING;

/** The judged partials that stand clear of the noise, or at least the clearest one. */
function clearPartials({ partials }: CombFinding): readonly SeenPartial[] {
  const judged = partials.slice(0, JUDGED_PARTIALS);
  const rise = ({ power, floor }: SeenPartial): number => powerToDb((power + SILENCE) / (floor + SILENCE));
  const clear = judged.filter((partial) => rise(partial) > CLEAR_DB);
  if (clear.length > 0) return clear;
  return [judged.reduce((best, partial) => (rise(partial) > rise(best) ? partial : best))];
}

function searchReeds(
  comb: ReedComb,
  readings: readonly HoleReading[],
  notes: readonly PlayableNote[],
  widest: number,
): SeenReed[] {
  const [{ note: first }] = readings;
  return readings.flatMap(({ note }, reading) => {
    const other = reading > 0;
    if (other && (note.breath === first.breath || apartCents(note, first) > SAME_PITCH_CENTS)) return [];
    return notes.flatMap((reed): SeenReed[] => {
      if (reed.bend > 0 || reed.over || reed.breath !== note.breath) return [];
      const holes = Math.abs(reed.hole - note.hole);
      if (holes === 0 || holes > (other ? 1 : widest)) return [];
      const finding = comb.find(reed.f0Hz);
      const leastDb = holes > 1 ? MEANT_DB : other ? WEAKEST_DB : WEAKEST_WEIGHED_DB;
      if (finding === null || levelWhileSounding(finding) < leastDb) return [];
      return [{ note: reed, finding, reading, next: holes === 1, around: null }];
    });
  });
}

function searchDecoys(
  comb: ReedComb,
  readings: readonly HoleReading[],
  notes: readonly PlayableNote[],
): SeenReed[] {
  const [{ note: main }] = readings;
  if (readings.some(({ note }) => note.breath !== main.breath && apartCents(note, main) <= SAME_PITCH_CENTS))
    return [];
  return notes.flatMap((reed): SeenReed[] => {
    if (reed.bend > 0 || reed.over || reed.breath === main.breath || Math.abs(reed.hole - main.hole) > 1)
      return [];
    const finding = comb.find(reed.f0Hz);
    if (finding === null || levelWhileSounding(finding) < WEAKEST_DB) return [];
    return [{ note: reed, finding, reading: 0, next: true, around: null }];
  });
}

/** Whether a nearby note has this pitch, and its tail or a late onset may explain the finding. */
export function isNeighbour({ note }: SeenReed, index: number, events: readonly SoundEvent[]): boolean {
  return events
    .slice(Math.max(0, index - NEIGHBOURS), index + 2)
    .some(({ f0Hz }) => Math.abs(centsBetween(f0Hz, note.f0Hz)) <= NEAR_PITCH_CENTS);
}

const apartCents = (a: PlayableNote, b: PlayableNote): number => Math.abs(centsBetween(a.f0Hz, b.f0Hz));

/** How far a reed in the last window of a note is above the echo of earlier notes; Infinity if they leave none. */
export function aboveEchoDb(
  { note, finding: { windowDb } }: SeenReed,
  { lastSec }: ReedObservation,
  events: readonly SoundEvent[],
  index: number,
  echo: EchoCurve,
): number {
  return (
    events[index].levelDb + windowDb[windowDb.length - 1] - echo.expectedDb(events, index, note.f0Hz, lastSec)
  );
}

/** Whether a reed stands out throughout a note and is not an echo: the test for reeds whose evidence is not weighed. */
export function soundsAlong(
  reed: SeenReed,
  observation: ReedObservation,
  events: readonly SoundEvent[],
  index: number,
  echo: EchoCurve,
): boolean {
  const { finding } = reed;
  if (levelWhileSounding(finding) < WEAKEST_DB || !isSteady(reed)) return false;
  if (!standsOut(finding)) return false;
  const aboveDb = aboveEchoDb(reed, observation, events, index, echo);
  if (aboveDb === Number.POSITIVE_INFINITY) return true;
  if (aboveDb < ABOVE_ECHO_DB) return false;
  const { windowDb } = finding;
  return (
    windowDb.length === 1 ||
    (windowDb[windowDb.length - 1] - windowDb[0]) / observation.spanSec > FALL_DB_PER_SEC
  );
}

/** The reed with the greatest `worth`; null if there is none. */
export function strongest(reeds: readonly SeenReed[]): SeenReed | null {
  let best: SeenReed | null = null;
  for (const reed of reeds) if (best === null || worth(reed) > worth(best)) best = reed;
  return best;
}

/**
 * Strength of a finding in dB: evidence first, level second, since a reed that shares half its partials with another has gaps
 * in its comb. One further away must be louder by `NEXT_HOLE_DB`, as the octave of a neighbour shows where the neighbour sounds.
 */
export const worth = ({ finding, next }: SeenReed): number =>
  finding.riseDb + 0.5 * finding.levelDb + (next ? NEXT_HOLE_DB : 0);

function standsOut({ visible, risen, riseDb }: CombFinding): boolean {
  if (visible === 1) return riseDb >= LONE_RISE_DB;
  return risen >= 2 && risen >= LEAST_RISEN_SHARE * visible && riseDb >= LEAST_RISE_DB;
}
