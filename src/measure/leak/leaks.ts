import type { SoundEvent } from '../../analysis/notes/events.ts';
import type { Samples } from '../../audio/samples.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { HoleReading } from '../../holes/holes.ts';
import type { NoteLeak } from '../../tab/note.ts';
import { hasAccompaniment, isHeld } from './accompaniment.ts';
import { ECHO_SEC, EchoCurve, type EchoPoint, roomShare } from './echo.ts';
import { AFTER_SEC, HeldSpectrum } from './held-spectrum.ts';
import { type LouderReed, louderReed } from './louder-reed.ts';
import { ReedComb } from './reed-comb.ts';
import { likelyReeds, otherBreathOf, type TakeEvidence } from './reed-evidence.ts';
import { reedLevelDb } from './reed-level.ts';
import {
  isWeighed,
  NO_OBSERVATION,
  observeReeds,
  type ReedObservation,
  type SeenReed,
  soundsAlong,
  strongest,
  WEAKEST_DB,
  worth,
} from './reed-observations.ts';
import { ReedTable } from './reed-table.ts';
import { levelWhileSounding, soundingShare, soundsThrough } from './sounding.ts';

/** A second reed this loud, relative to the note, that sounds all through it was meant. */
const CHORD_DB = -6;
/**
 * What proves a reading of the other breath wrong is held to this, and the reading that it proves must not be ruled out.
 * [labelled takes without a guitar: 24 of 27 so proven from -22 dB on are right]
 */
const PROOF_RISE_DB = 10;
const PROOF_DB = -22.5;
const PROOF_LEAST_PROBABILITY = 0.03;

/** The reeds of a note. */
export interface NoteReeds {
  /** Null when no second reed stands out. */
  readonly leak: NoteLeak | null;
  /** Centre of the power of the note's partials, in partial numbers; null when it is too short. */
  readonly brightness: number | null;
  /**
   * Place of the reading that the second reed proves: 0 as a rule, another when the pitch can be had in both breaths
   * (2 draw and 3 blow) and a reed sounds along that only the other breath can have.
   */
  readonly reading: number;
  /** A next hole's reed that is louder than the note: then it is the note. Usually null. */
  readonly louder: LouderReed | null;
}

/**
 * Finds for each note a second reed that sounds along, by partials that the note itself can't have, at the pitches
 * of the natural reeds in the same breath: those of the next holes from -25 dB on, others up to four holes away (the
 * reach of chords and octave splits) from -10 dB on. Reeds one or two octaves or a twelfth above have no partial of
 * their own and can't be told; a fifth shows every second one. What is said of the next holes is weighed by all that
 * the take tells (`evidenceOf`): echoes, strings of another instrument and what codecs leave are no reeds. Of those
 * further off, where another instrument plays along only what is held like a reed is said.
 */
export function findReeds(
  observed: readonly ObservedNote[],
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
): NoteReeds[] {
  const { take, room } = reedEvidence(observed, events, readings);
  const { observations, echo, table, otherBreath } = take;
  const along = observations.map((observation, i) =>
    observation.reeds.filter((reed) => soundsAlong(reed, observation, events, i, echo)),
  );
  const accompanied = hasAccompaniment(
    along.flatMap((reeds) => strongest(reeds)?.finding ?? []),
    otherBreath,
  );
  return observations.map((observation, i) => {
    const sure = along[i].filter((reed) => isWeighed(reed) || isSure(reed, accompanied));
    // What is further off is often the octave of a neighbour, so it must be worth more than all of those.
    const other = strongest(sure.filter(({ reading }) => reading === 0));
    const levelOf = (reed: SeenReed): number =>
      reedLevelDb(reed, readings[i][reed.reading].note, observation, table, room);
    const likely = likelyReeds(take, i).find((reed) => levelOf(reed) >= WEAKEST_DB) ?? null;
    const sounding = stronger(likely, other === null || isWeighed(other) ? null : other);
    const proof = accompanied ? null : strongest(sure.filter((reed) => isProof(reed, readings[i])));
    const best = stronger(sounding, proof);
    return {
      leak: best === null ? null : asLeak(best, readings[i][best.reading].note, levelOf(best)),
      brightness: observation.brightness,
      reading: best?.reading ?? 0,
      louder: louderReed(observation, readings[i][0].note),
    };
  });
}

/** What one note shows about second reeds and the room. */
export interface ObservedNote {
  readonly observation: ReedObservation;
  /** What is left in it of the note before. */
  readonly echoes: readonly EchoPoint[];
}

/** @returns observes the note of a place, in any order */
export function noteObserver(
  samples: Samples,
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  notes: readonly PlayableNote[],
): (index: number) => ObservedNote {
  const held = new HeldSpectrum(samples);
  const comb = new ReedComb(held, samples.sampleRate);
  return (index) => {
    const event = events[index];
    held.measure(event);
    if (held.count === 0) return { observation: NO_OBSERVATION, echoes: [] };
    comb.begin(event.f0Hz);
    const firstSec = held.fromSec + held.windowSec / 2;
    const echoes = echoesOf(comb, event, events[index - 1], firstSec, held.spacingSec);
    return { observation: observeReeds(held, comb, event, readings[index], notes), echoes };
  };
}

/** All that the second reeds of a take are judged by, and how much it sounds of its room (`roomShare`). */
export function reedEvidence(
  observed: readonly ObservedNote[],
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
): { readonly take: TakeEvidence; readonly room: number } {
  const observations = observed.map(({ observation }) => observation);
  const echoes = observed.flatMap((note) => note.echoes);
  const echo = new EchoCurve(echoes);
  const table = new ReedTable(
    observations.map(({ partials, power }, i) => ({ note: readings[i][0].note, partials, power })),
  );
  const otherBreath = otherBreathOf(observations, events, echo);
  const otherBreathCount = otherBreath.filter((there) => there).length;
  return {
    take: { events, observations, echo, table, otherBreath, otherBreathCount },
    room: roomShare(echoes, observations.flatMap(tailOf)),
  };
}

/** Of those by rules: what is further off must go through the note, and beside other instruments be held. */
const isSure = ({ finding, next }: SeenReed, accompanied: boolean): boolean =>
  (next || soundsThrough(finding)) && (!accompanied || isHeld(finding));

/** The one that is worth more; the likely one in doubt. */
function stronger(likely: SeenReed | null, other: SeenReed | null): SeenReed | null {
  if (likely === null || other === null) return likely ?? other;
  return worth(other) > worth(likely) ? other : likely;
}

/** Whether a reed that only another reading can have proves that reading. */
const isProof = ({ finding, reading }: SeenReed, readings: readonly HoleReading[]): boolean =>
  reading > 0 &&
  readings[reading].probability >= PROOF_LEAST_PROBABILITY &&
  finding.riseDb >= PROOF_RISE_DB &&
  finding.levelDb >= PROOF_DB &&
  finding.visible > 1;

function asLeak({ note, finding }: SeenReed, main: PlayableNote, levelDb: number): NoteLeak {
  const share = soundingShare(finding);
  const meant = levelWhileSounding(finding) >= CHORD_DB && share === 1;
  const kind = !meant ? 'leak' : Math.abs(note.hole - main.hole) === 1 ? 'chord' : 'split';
  return { hole: note.hole, levelDb, share, kind };
}

/** What is left of a note after its end. */
function tailOf({ windowSec, around }: ReedObservation): EchoPoint[] {
  return around === null ? [] : [{ afterSec: AFTER_SEC + windowSec / 2, levelDb: around.afterDb }];
}

function echoesOf(
  comb: ReedComb,
  event: SoundEvent,
  before: SoundEvent | undefined,
  firstSec: number,
  spacingSec: number,
): EchoPoint[] {
  if (before === undefined || firstSec - before.offsetSec > ECHO_SEC) return [];
  const windowDb = comb.find(before.f0Hz)?.windowDb ?? [];
  return windowDb.map((levelDb, w) => ({
    afterSec: firstSec + w * spacingSec - before.offsetSec,
    levelDb: event.levelDb + levelDb - before.levelDb,
  }));
}
