import type { SoundEvent } from '../../analysis/notes/events.ts';
import { logOddsOf } from '../../decode/small-network.ts';
import { powerToDb } from '../../units.ts';
import type { EchoCurve } from './echo.ts';
import { JUDGED_PARTIALS } from './reed-comb.ts';
import { REED_NETWORK } from './reed-network.ts';
import {
  aboveEchoDb,
  isNeighbour,
  isSteady,
  isWeighed,
  type ReedObservation,
  type SeenReed,
  soundsAlong,
  WEAKEST_DB,
  worth,
} from './reed-observations.ts';
import type { ReedSound, ReedTable } from './reed-table.ts';
import { levelWhileSounding, soundingShare } from './sounding.ts';

/** What a take as a whole says about its second reeds. */
export interface TakeEvidence {
  readonly events: readonly SoundEvent[];
  readonly observations: readonly ReedObservation[];
  readonly echo: EchoCurve;
  readonly table: ReedTable;
  /** For each note, whether a reed of the other breath seems to sound beside it; and the number of such notes. */
  readonly otherBreath: readonly boolean[];
  readonly otherBreathCount: number;
}

/** A second reed is reported above these log odds: if it is likelier than not. */
export const REED_LOG_ODDS = 0;

/** Log odds that a reed of an adjacent hole sounds along with note `index`. */
export function reedLogOdds(take: TakeEvidence, index: number, reed: SeenReed): number {
  return logOddsOf(REED_NETWORK, evidenceOf(take, index, reed));
}

/** Limits what a level difference can say. */
const between = (least: number, value: number, most: number): number =>
  Math.max(least, Math.min(most, value));

/** Silence before a note and after it. */
const NOTHING_AROUND = { beforeDb: -120, afterDb: -120 };
/** Partials are credited with at most this much above the noise, as in the comb. */
const MOST_RISE_DB = 25;
/** Limit for levels above the echo, also used if there is no echo. */
const MOST_ECHO_DB = 30;
/** Used if nothing else was found beside the note. */
const NO_RIVAL_DB = 20;
/** Spread of the levels of a reed's partials if it has no note of its own to be compared with, in dB. */
const USUAL_SPREAD_DB = 6;
const WIDEST_SPREAD_DB = 20;
/** Prior: a take counts as having this many more notes, with this many reeds of the other breath. */
const PRIOR_NOTES = 10;
const PRIOR_REEDS = 0.5;

/**
 * Features that distinguish a second reed from strings, echoes, clicks and codec artefacts:
 * - how far its partials stand above the noise: mean, share of them, number that can be seen, the second best;
 * - its level; ln of the window's length in seconds; log2 of the number of windows; the share in which it sounds; how far it
 *   falls and how much it wavers; how far it is from its nominal pitch;
 * - how far it is above echoes, and whether there are any; the note's harmonicity; whether a nearby note has its pitch;
 * - the best reed of the other breath, which can't sound, in this note, and in how many others: if there are some, something
 *   else plays along;
 * - its level before and after the note, in itself and relative to the note; how much its partials differ from those of the
 *   same reed where it is the note; and its strength relative to the next best.
 */
export function evidenceOf(take: TakeEvidence, index: number, reed: SeenReed): number[] {
  const { events, observations, echo, table, otherBreath, otherBreathCount } = take;
  const observation = observations[index];
  const { finding, note, around } = reed;
  const { windowDb, partials } = finding;
  const rises = partials
    .slice(0, JUDGED_PARTIALS)
    .map(({ power, floor }) => between(0, powerToDb((power + Number.MIN_VALUE) / floor), MOST_RISE_DB))
    .sort((a, b) => b - a);
  const echoDb = aboveEchoDb(reed, observation, events, index, echo);
  const decoys = observation.decoys.filter((decoy) => !isNeighbour(decoy, index, events));
  const others = otherBreathCount - (otherBreath[index] ? 1 : 0);
  const spreadDb = spreadAgainst(table.soundOf(note), reed);
  const rivals = observation.reeds.filter(
    (other) => other !== reed && other.reading === 0 && levelWhileSounding(other.finding) >= WEAKEST_DB,
  );
  const { beforeDb, afterDb } = around ?? NOTHING_AROUND;
  const main = observation.around ?? NOTHING_AROUND;
  return [
    finding.riseDb,
    finding.risen / finding.visible,
    finding.visible,
    rises[1] ?? 0,
    levelWhileSounding(finding),
    Math.log(observation.windowSec),
    Math.log2(observation.windows),
    soundingShare(finding),
    windowDb.length > 1
      ? between(-10, Math.max(windowDb[0], windowDb[1]) - windowDb[windowDb.length - 1], 15)
      : 0,
    Math.min(15, Math.max(...windowDb) - Math.min(...windowDb)),
    Math.abs(finding.cents) / 10,
    between(-10, echoDb, MOST_ECHO_DB),
    echoDb === Number.POSITIVE_INFINITY ? 1 : 0,
    events[index].harmonicityDb / 10,
    isNeighbour(reed, index, events) ? 1 : 0,
    Math.max(0, ...decoys.map((decoy) => decoy.finding.riseDb)),
    Math.log((others + PRIOR_REEDS) / (events.length + PRIOR_NOTES)),
    between(-30, beforeDb, 10),
    between(-20, beforeDb - main.beforeDb, 20),
    between(-30, afterDb, 10),
    between(-20, afterDb - main.afterDb, 20),
    spreadDb === null ? 0 : 1,
    Math.min(WIDEST_SPREAD_DB, spreadDb ?? USUAL_SPREAD_DB),
    rivals.length === 0 ? NO_RIVAL_DB : between(-30, worth(reed) - Math.max(...rivals.map(worth)), 30),
  ];
}

/** Partials no further above the noise than this are counted as this share of it (power). */
const UNRISEN_DB = 1;
const UNRISEN = 0.25;
const SILENCE = 1e-14;

/** Standard deviation of the levels of a reed's partials relative to its own sound, in dB; null with fewer than two. */
function spreadAgainst(sound: ReedSound | null, { finding }: SeenReed): number | null {
  if (sound === null) return null;
  const levels = finding.partials
    .slice(0, JUDGED_PARTIALS)
    .filter(({ number }) => number <= sound.partialsDb.length)
    .map(({ number, power, floor }) => {
      const own = powerToDb(power / floor) > UNRISEN_DB ? power - floor : UNRISEN * floor;
      return powerToDb(own + SILENCE) - sound.partialsDb[number - 1];
    });
  if (levels.length < 2) return null;
  const mean = levels.reduce((sum, level) => sum + level, 0) / levels.length;
  return Math.sqrt(levels.reduce((sum, level) => sum + (level - mean) ** 2, 0) / levels.length);
}

/** For each note, whether a reed of the other breath stands out beside it that does not come from a nearby note. */
export function otherBreathOf(
  observations: readonly ReedObservation[],
  events: readonly SoundEvent[],
  echo: EchoCurve,
): boolean[] {
  return observations.map((observation, i) =>
    observation.decoys.some(
      (reed) => !isNeighbour(reed, i, events) && soundsAlong(reed, observation, events, i, echo),
    ),
  );
}

/** Reeds of adjacent holes that sound along with a note, likeliest first. */
export function likelyReeds(take: TakeEvidence, index: number): SeenReed[] {
  return take.observations[index].reeds
    .filter((reed) => isWeighed(reed) && isSteady(reed))
    .map((reed) => ({ reed, odds: reedLogOdds(take, index, reed) }))
    .filter(({ odds }) => odds > REED_LOG_ODDS)
    .sort((a, b) => b.odds - a.odds)
    .map(({ reed }) => reed);
}
