import type { SoundEvent } from '../../analysis/notes/events.ts';
import type { Samples } from '../../audio/samples.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { HoleReading } from '../../holes/holes.ts';
import type { NoteLeak } from '../../tab/note.ts';
import { hasAccompaniment, isHeld } from './accompaniment.ts';
import { ECHO_SEC, EchoCurve, type EchoPoint, roomShare } from './echo.ts';
import { AFTER_SEC, HeldSpectrum } from './held-spectrum.ts';
import { type LouderReed, louderReed } from './louder-reed.ts';
import { ReedComb, spectrumTopHz } from './reed-comb.ts';
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

/** A second reed this loud relative to the note, and sounding throughout, was meant. */
const CHORD_DB = -6;
/**
 * Thresholds for a reed that proves the reading of the other breath, which must not itself be ruled out. [labelled takes
 * without a guitar: 24 of 27 readings proved at -22 dB or more are right]
 */
const PROOF_RISE_DB = 10;
const PROOF_DB = -22.5;
const PROOF_LEAST_PROBABILITY = 0.03;

/** What is known about the reeds that sound in a note. */
export interface NoteReeds {
  /** Null if no second reed stands out. */
  readonly leak: NoteLeak | null;
  /** Centroid of the power of the note's partials, in partial numbers; null if it is too short. */
  readonly brightness: number | null;
  /**
   * Index of the reading that the second reed proves: usually 0; another if the pitch exists in both breaths (2 draw and 3
   * blow) and a reed sounds that only the other breath can sound.
   */
  readonly reading: number;
  /** The reed of an adjacent hole that is louder than the note, and therefore is the note. Usually null. */
  readonly louder: LouderReed | null;
}

/**
 * Finds a second reed in each note, by partials that the note itself can't have, at the pitches of the natural reeds in the
 * same breath: those of adjacent holes from -25 dB up, others up to four holes away (the reach of chords and octave splits)
 * from -10 dB up. Reeds one or two octaves or a twelfth above have no partial of their own and can't be detected; a fifth
 * shows every other partial. The evidence for adjacent holes is weighed with all that the take shows (`evidenceOf`):
 * echoes, strings of another instrument and codec artefacts are not reeds. Of reeds further away, in a take with another
 * instrument only those that are held like a reed are reported.
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
    // A reed further away is often the octave of a neighbour, so it must have stronger evidence than all neighbours.
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
  /** What is left in it of earlier notes. */
  readonly echoes: readonly EchoPoint[];
}

/** @returns a function that observes the note at an index, in any order */
export function noteObserver(
  samples: Samples,
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  notes: readonly PlayableNote[],
): (index: number) => ObservedNote {
  const held = new HeldSpectrum(samples, (mainHz) => spectrumTopHz(samples.sampleRate, mainHz));
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

/** All evidence by which the second reeds of a take are judged, and how much of its room is in it (`roomShare`). */
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

/** For reeds judged by rules: one further away must sound through the note and, beside other instruments, be held. */
const isSure = ({ finding, next }: SeenReed, accompanied: boolean): boolean =>
  (next || soundsThrough(finding)) && (!accompanied || isHeld(finding));

/** The reed with the stronger evidence; in doubt the likely one. */
function stronger(likely: SeenReed | null, other: SeenReed | null): SeenReed | null {
  if (likely === null || other === null) return likely ?? other;
  return worth(other) > worth(likely) ? other : likely;
}

/** Whether a reed that only another reading allows proves that reading. */
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
