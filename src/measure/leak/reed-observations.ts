import type { SoundEvent } from '../../analysis/notes/events.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { HoleReading } from '../../holes/holes.ts';
import { median } from '../../statistics.ts';
import { centsBetween, powerToDb } from '../../units.ts';
import type { EchoCurve } from './echo.ts';
import type { HeldSpectrum } from './held-spectrum.ts';
import { type CombFinding, JUDGED_PARTIALS, type ReedComb, type SeenPartial } from './reed-comb.ts';
import { levelWhileSounding, soundingShare } from './sounding.ts';

/** Weaker than this nothing is reported, and nothing is taken for a reed by rules: breath, rooms and codecs leave as much. */
export const WEAKEST_DB = -25;
/** Reeds whose evidence is weighed may seem as weak: a room's notches and a telephone's band take 10 dB at times. */
const WEAKEST_WEIGHED_DB = -36;
/** From this level on a reed further off than the next hole is looked for: it is meant, or a split gone wrong. */
const MEANT_DB = -10;
/** Holes that a chord or a split spans to one side. */
const WIDEST_HOLES = 4;
/** Windows shorter than this part neighbours, but not what a chord brings. */
const LEAST_CHORD_WINDOW_SEC = 0.1;
/** How far the visible partials must stand above the noise on average, how many of them, and a lone one. */
const LEAST_RISE_DB = 9;
const LEAST_RISEN_SHARE = 0.6;
const LONE_RISE_DB = 18;
/** A reed that sounds along does so in this share of the windows; what comes and goes within a note is no leak. */
const LEAST_SOUNDING = 0.7;
/** A note that rings on falls by 60 dB in the room's reverberation time: in rooms up to 1 s faster than this. */
const FALL_DB_PER_SEC = -60;
/** A reed that an earlier note also sounded must be this much louder than the echo of that note would be. */
const ABOVE_ECHO_DB = 6;
const SAME_PITCH_CENTS = 40;
/** By how much the next hole is likelier to sound along than one further off, in dB of `worth`. */
const NEXT_HOLE_DB = 6;
/** Notes before whose tails may still sound, and how near a pitch is theirs. */
const NEIGHBOURS = 3;
const NEAR_PITCH_CENTS = 70;
/** Partials this far above the noise are compared with what was before the note and after it. */
const CLEAR_DB = 6;
/** Partials that are kept of each note: as many as are looked for in another. */
const KEPT_PARTIALS = 8;
/** Nothing, as a power. */
const SILENCE = 1e-14;

/** A reed that may sound along, if the note is what the reading says. */
export interface SeenReed {
  readonly note: PlayableNote;
  readonly finding: CombFinding;
  /** Whether it is the next hole's. */
  readonly next: boolean;
  /** Place of the reading in the note's list whose breath it shares. */
  readonly reading: number;
  /**
   * Median over its clear partials of their level just before the note and just after it, against that in the note, in
   * dB; null of reeds that no evidence is weighed of.
   */
  readonly around: Around | null;
}

/** Levels before a note and after it against those in it, in dB. */
interface Around {
  readonly beforeDb: number;
  readonly afterDb: number;
}

/** What was found in one note. */
export interface ReedObservation {
  readonly reeds: readonly SeenReed[];
  /** Reeds of the other breath, which can't sound: what is found there is another instrument. */
  readonly decoys: readonly SeenReed[];
  readonly brightness: number | null;
  /** Middle of the last window, in seconds from the first sample; from the first to it. */
  readonly lastSec: number;
  readonly spanSec: number;
  readonly windowSec: number;
  readonly windows: number;
  /** Powers of the note's own first partials, and of all of them. */
  readonly partials: readonly number[];
  readonly power: number;
  /** The note itself before its onset and after its end; null when no evidence is to be weighed. */
  readonly around: Around | null;
}

/** The observation of a note too short for any. */
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

/** Looks for every reed in the note that `held` has just measured and `comb` has begun. */
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

/** Whether the evidence of a reed is weighed: those of the next holes, if the note is what it most likely is. */
export const isWeighed = ({ next, reading }: SeenReed): boolean => next && reading === 0;

/** Whether a reed sounds through enough of its note to be called a second reed. */
export const isSteady = ({ finding }: SeenReed): boolean => soundingShare(finding) >= LEAST_SOUNDING;

/** The judged partials that stand clear of the noise, at least the clearest. */
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

/** Whether a note near by has the pitch: its tail, or an onset that was placed late, brings it. */
export function isNeighbour({ note }: SeenReed, index: number, events: readonly SoundEvent[]): boolean {
  return events
    .slice(Math.max(0, index - NEIGHBOURS), index + 2)
    .some(({ f0Hz }) => Math.abs(centsBetween(f0Hz, note.f0Hz)) <= NEAR_PITCH_CENTS);
}

const apartCents = (a: PlayableNote, b: PlayableNote): number => Math.abs(centsBetween(a.f0Hz, b.f0Hz));

/** How far a reed in the last window of a note is above the echo of the notes before; Infinity where they leave none. */
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

/** Whether a reed stands out all through a note and is no echo: what is asked of those whose evidence is not weighed. */
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

/** The reed that is worth the most; null of none. */
export function strongest(reeds: readonly SeenReed[]): SeenReed | null {
  let best: SeenReed | null = null;
  for (const reed of reeds) if (best === null || worth(reed) > worth(best)) best = reed;
  return best;
}

/**
 * Evidence first, level second: a reed of which half the partials are another's has gaps in its comb. One further off
 * must be so much louder: the octave of a neighbour shows where the neighbour sounds.
 */
export const worth = ({ finding, next }: SeenReed): number =>
  finding.riseDb + 0.5 * finding.levelDb + (next ? NEXT_HOLE_DB : 0);

function standsOut({ visible, risen, riseDb }: CombFinding): boolean {
  if (visible === 1) return riseDb >= LONE_RISE_DB;
  return risen >= 2 && risen >= LEAST_RISEN_SHARE * visible && riseDb >= LEAST_RISE_DB;
}
