import { findPlayable, playableNotes, soundingNotes } from '../../../src/harp/playable.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';
import { centsBetween } from '../../../src/units.ts';
import { maximumMatching } from '../scores/matching.ts';
import type { EstimatedNote } from '../scores/measure.ts';
import { addTallies, type Tally } from '../scores/metrics.ts';
import type { RealEvent } from './real-labels.ts';

/** An event as a transcriber reports it: `pitchesHz[0]` is the melody note. */
export interface HeardEvent {
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly pitchesHz: readonly number[];
}

/** Counts over one clip or, added up, over many. */
export interface RealScore {
  readonly clips: number;
  readonly audioSec: number;
  /** Events of one hole whose pitch and onset are right, nothing sounding beside it. */
  readonly single: Tally;
  /** Events of several holes whose every pitch and onset are right. */
  readonly several: Tally;
  /** Both together: the whole set of pitches right. */
  readonly event: Tally;
  /** The melody note of every event right, whatever sounds beside it. */
  readonly melody: Tally;
  /** Events with no labelled event of any common pitch at their onset, and their length in seconds. */
  readonly nobody: { readonly count: number; readonly sec: number };
  /** Labelled events left out, one after the other: the longest such run of a clip. */
  readonly longestMissed: number;
}

const ONSET_SEC = 0.05;
const PITCH_CENTS = 50;

export const samePitch = (a: number, b: number): boolean => Math.abs(centsBetween(a, b)) <= PITCH_CENTS;
const hasPitch = (set: readonly number[], hz: number): boolean => set.some((one) => samePitch(one, hz));

/** Pitches in Hz of labelled MIDI numbers, as far off concert pitch as the melody note is. */
const hzOf = (event: RealEvent, midis: readonly number[]): number[] =>
  midis.map((midi) => event.f0Hz * 2 ** ((midi - event.nominalMidi) / 12));

/** The notes of a take as events: a note with `holes` sounds all of them in its breath, in the tuning of the take's harp. */
export function heardEvents(notes: readonly EstimatedNote[], harp: HarpSpec | null): HeardEvent[] {
  const playable = harp ? playableNotes(harp) : [];
  return notes.map((note) => {
    const own = findPlayable(playable, note);
    const others = own ? soundingNotes(playable, note).filter(({ hole }) => hole !== note.hole) : [];
    const pitchesHz = others.map(({ f0Hz }) => (note.f0Hz * f0Hz) / (own?.f0Hz ?? f0Hz));
    return { onsetSec: note.onsetSec, offsetSec: note.offsetSec, pitchesHz: [note.f0Hz, ...pitchesHz] };
  });
}

/**
 * Scores what was heard against the sure events of a label. Onset within 50 ms or the event's own tolerance, pitches within
 * 50 cents. What begins in an unsure span, sounds only what may sound, or is a turn of a shake counts neither way.
 */
export function scoreReal(
  events: readonly RealEvent[],
  heard: readonly HeardEvent[],
  audioSec: number,
): RealScore {
  const sure = events.filter((event) => event.sure);
  const pairs = (accept: Accept): Int32Array => pairsOf(sure, heard, accept);
  const exact = pairs(sameSet);
  const melody = pairs((event, one) => samePitch(one.pitchesHz[0], event.f0Hz));
  const near = pairs(sharesPitch);
  const counts = (matching: Int32Array): Set<number> => new Set(matching.filter((i) => i >= 0));
  const paired = new Set([...counts(exact), ...counts(melody), ...counts(near)]);
  const judged = heard.filter((one, i) => paired.has(i) || !neutral(one, events));
  const nobody = heard.filter((one, i) => !paired.has(i) && !neutral(one, events));
  const found = (severalHoles: boolean): Tally => {
    const reference = sure.filter((event) => event.sounding.length > 1 === severalHoles).length;
    const matched = sure.filter((event, i) => exact[i] >= 0 && event.sounding.length > 1 === severalHoles);
    const estimated = judged.filter((one) => one.pitchesHz.length > 1 === severalHoles).length;
    return { matched: matched.length, reference, estimated };
  };
  const tally = (matching: Int32Array): Tally => ({
    matched: counts(matching).size,
    reference: sure.length,
    estimated: judged.length,
  });
  return {
    clips: 1,
    audioSec,
    single: found(false),
    several: found(true),
    event: tally(exact),
    melody: tally(melody),
    nobody: {
      count: nobody.length,
      sec: nobody.reduce((sum, { onsetSec, offsetSec }) => sum + offsetSec - onsetSec, 0),
    },
    longestMissed: longestMissed(events, sure, near),
  };
}

/** Sums of counts; the longest run of missed events is the longest of all. */
export function addReal(scores: readonly RealScore[]): RealScore {
  const sum = (of: (score: RealScore) => number): number => scores.reduce((all, score) => all + of(score), 0);
  return {
    clips: sum(({ clips }) => clips),
    audioSec: sum(({ audioSec }) => audioSec),
    single: addTallies(scores.map(({ single }) => single)),
    several: addTallies(scores.map(({ several }) => several)),
    event: addTallies(scores.map(({ event }) => event)),
    melody: addTallies(scores.map(({ melody }) => melody)),
    nobody: { count: sum(({ nobody }) => nobody.count), sec: sum(({ nobody }) => nobody.sec) },
    longestMissed: Math.max(0, ...scores.map(({ longestMissed }) => longestMissed)),
  };
}

type Accept = (event: RealEvent, one: HeardEvent) => boolean;

/** As many pairs as can be, of events and what is heard at their onset. */
function pairsOf(events: readonly RealEvent[], heard: readonly HeardEvent[], accept: Accept): Int32Array {
  return maximumMatching(
    events.map((event) =>
      heard.flatMap((one, i) => {
        const late = Math.round(Math.abs(one.onsetSec - event.onsetSec) * 1e4) / 1e4;
        return late <= (event.onsetTolSec ?? ONSET_SEC) && accept(event, one) ? [i] : [];
      }),
    ),
    heard.length,
  );
}

function sharesPitch(event: RealEvent, one: HeardEvent): boolean {
  return one.pitchesHz.some((hz) => hasPitch(hzOf(event, [...event.sounding, ...(event.maybe ?? [])]), hz));
}

/** For each labelled event whether anything of a pitch of its begins near it, be it late. */
export function haveCounterparts(
  events: readonly RealEvent[],
  heard: readonly HeardEvent[],
  lateSec: number,
): boolean[] {
  const loose = events.map((event) => ({ ...event, onsetTolSec: Math.max(lateSec, event.onsetTolSec ?? 0) }));
  const near = pairsOf(loose, heard, sharesPitch);
  return events.map((_, i) => near[i] >= 0);
}

/** Every reed that surely sounds is there, and nothing but what may sound beside. */
export function sameSet(event: RealEvent, one: HeardEvent): boolean {
  const sounding = hzOf(event, event.sounding);
  const allowed = [...sounding, ...hzOf(event, event.maybe ?? [])];
  return (
    sounding.every((hz) => hasPitch(one.pitchesHz, hz)) && one.pitchesHz.every((hz) => hasPitch(allowed, hz))
  );
}

/** Begins in an unsure span, or sounds only what may sound, so it counts neither way. */
export function neutral(one: HeardEvent, events: readonly RealEvent[]): boolean {
  return events.some((event) => {
    if (one.onsetSec < event.onsetSec - ONSET_SEC || one.onsetSec >= event.offsetSec) return false;
    if (!event.sure) return true;
    const free = hzOf(event, event.kind === 'shake' ? event.sounding : (event.maybe ?? []));
    return one.pitchesHz.every((hz) => hasPitch(free, hz));
  });
}

/** Neighbours in the label that have no counterpart at all; an unsure one between them ends the run. */
function longestMissed(events: readonly RealEvent[], sure: readonly RealEvent[], near: Int32Array): number {
  let longest = 0;
  let run = 0;
  for (const event of events) {
    run = event.sure && near[sure.indexOf(event)] < 0 ? run + 1 : 0;
    longest = Math.max(longest, run);
  }
  return longest;
}
