import { CLEAN, type PlayingStyle, STUDENT } from '../../../samples/synth/style.ts';
import { TUNES } from '../../../samples/tunes.ts';
import type { FindingKind } from '../../../src/check/finding.ts';
import { type Stroke, strokesOf } from '../../check/student.ts';

/*
 * Twelve pupils, each playing a tune, and what a teacher would say first to each. The answers were written down before
 * the check was run, and must not be changed by anyone who has seen its results.
 */

/** What comes first: a kind of finding, the tempo, or nothing to work on. */
export type First = FindingKind | 'tempo' | 'nothing';

/** A pupil with what a teacher says first. */
export interface Pupil {
  readonly name: string;
  readonly tune: string;
  readonly harp: string;
  /** The harp that is played on, when it is another than the tune's. */
  readonly playedOn?: string;
  readonly style: PlayingStyle;
  readonly beatSec: number;
  readonly strokes: readonly Stroke[];
  readonly first: First;
  /** Lines that are played, from 1; all when left out. */
  readonly lines?: readonly [first: number, last: number];
  /** How often the whole of it is played. */
  readonly attempts?: number;
  /** The take three weeks before, and what has become better first. */
  readonly before?: {
    readonly style: PlayingStyle;
    readonly strokes: readonly Stroke[];
    readonly better: First;
  };
}

const JOE = TUNES['old-joe-clark'];
const ODE = TUNES['ode-to-joy'];
const GRACE = TUNES['amazing-grace'];

/** Plays cleanly and in time, on target. */
const CAREFUL: PlayingStyle = {
  ...CLEAN,
  leakShare: 0,
  bendErrorCents: [-6, 6],
  scoopShare: 0,
  vibratoShare: 0,
};

const wrongAt = (strokes: readonly Stroke[], places: readonly number[]): Stroke[] =>
  strokes.map((stroke, i) =>
    places.includes(i)
      ? { ...stroke, tab: { ...stroke.tab, hole: stroke.tab.hole === 9 ? 8 : stroke.tab.hole + 1, bend: 0 } }
      : stroke,
  );

const lateAt = (strokes: readonly Stroke[], places: readonly number[], lateSec: number): Stroke[] =>
  strokes.map((stroke, i) => (places.includes(i) ? { ...stroke, lateSec } : stroke));

/** Played faster and faster: the last beat lasts `share` of the first. */
function hurried(strokes: readonly Stroke[], share: number): Stroke[] {
  const last = strokes[strokes.length - 1].onset;
  const warped = (beat: number): number => beat + ((share - 1) * beat * beat) / (2 * last);
  return strokes.map((stroke) => ({
    ...stroke,
    onset: warped(stroke.onset),
    length: warped(stroke.onset + stroke.length) - warped(stroke.onset),
  }));
}

/** Notes `from` on up to `to`, from the start. */
function part(strokes: readonly Stroke[], from: number, to: number): Stroke[] {
  return strokes.slice(from, to).map((stroke) => ({ ...stroke, onset: stroke.onset - strokes[from].onset }));
}

/** One after the other, with two beats between. */
function afterEachOther(parts: readonly (readonly Stroke[])[]): Stroke[] {
  let at = 0;
  return parts.flatMap((strokes) => {
    const shifted = strokes.map((stroke) => ({ ...stroke, onset: stroke.onset + at }));
    const end = strokes[strokes.length - 1];
    at += end.onset + end.length + 2;
    return shifted;
  });
}

const joe = strokesOf(JOE);
const ode = strokesOf(ODE);
const grace = strokesOf(GRACE);
const lengthOf = (tune: string, line: number): number => strokesOf(tune.split('|')[line]).length;
const lineOne = part(ode, 0, lengthOf(ODE, 0));
const odeLineTwo: [number, number] = [lengthOf(ODE, 0), lengthOf(ODE, 0) + lengthOf(ODE, 1)];

export const PUPILS: readonly Pupil[] = [
  {
    name: 'plays it right',
    tune: JOE,
    harp: 'D',
    style: CAREFUL,
    beatSec: 0.5,
    strokes: joe,
    first: 'nothing',
  },
  {
    name: 'plays it right on an A harp',
    tune: JOE,
    harp: 'D',
    playedOn: 'A',
    style: CAREFUL,
    beatSec: 0.5,
    strokes: joe,
    first: 'nothing',
  },
  {
    name: 'plays it right, a good deal slower',
    tune: GRACE,
    harp: 'C',
    style: CAREFUL,
    beatSec: 0.8,
    strokes: grace,
    first: 'nothing',
  },
  {
    name: 'sends the second line only, with two wrong notes',
    tune: ODE,
    harp: 'C',
    style: CAREFUL,
    beatSec: 0.5,
    strokes: wrongAt(part(ode, ...odeLineTwo), [4, 9]),
    first: 'wrong-note',
    lines: [2, 2],
  },
  {
    name: 'tries the first line three times, right in the end',
    tune: ODE,
    harp: 'C',
    style: CAREFUL,
    beatSec: 0.5,
    strokes: afterEachOther([wrongAt(lineOne, [3, 7, 10]), wrongAt(lineOne, [7]), lineOne]),
    first: 'nothing',
    lines: [1, 1],
    attempts: 3,
  },
  {
    name: 'every bend half a semitone short',
    tune: GRACE,
    harp: 'C',
    style: { ...CAREFUL, bendErrorCents: [46, 54] },
    beatSec: 0.6,
    strokes: grace,
    first: 'bend-short',
  },
  {
    name: 'leaks in half of the notes',
    tune: ODE,
    harp: 'C',
    style: { ...CAREFUL, leakShare: 0.5, leakDb: [-14, -9] },
    beatSec: 0.5,
    strokes: lateAt(ode, [17], 0.18),
    first: 'second-reed',
  },
  {
    name: 'bends short, and a few faint leaks',
    tune: GRACE,
    harp: 'A',
    style: { ...CAREFUL, bendErrorCents: [40, 50], leakShare: 0.12, leakDb: [-20, -13] },
    beatSec: 0.6,
    strokes: grace,
    first: 'bend-short',
  },
  {
    name: 'hurries: a quarter faster at the end',
    tune: ODE,
    harp: 'C',
    style: CAREFUL,
    beatSec: 0.55,
    strokes: hurried(ode, 0.75),
    first: 'tempo',
  },
  {
    name: 'four wrong notes, three late ones, some leaks',
    tune: JOE,
    harp: 'D',
    style: { ...CAREFUL, leakShare: 0.1, leakDb: [-16, -11] },
    beatSec: 0.5,
    strokes: lateAt(wrongAt(joe, [4, 12, 27, 40]), [8, 20, 34], 0.17),
    first: 'wrong-note',
  },
  {
    name: 'leaves notes out',
    tune: ODE,
    harp: 'C',
    style: { ...STUDENT, leakShare: 0.05, leakDb: [-18, -13] },
    beatSec: 0.5,
    strokes: ode.filter((_, i) => ![5, 11, 19, 24, 33].includes(i)),
    first: 'missed',
  },
  {
    name: 'three weeks later: bends that were short are there, one wrong note left',
    tune: GRACE,
    harp: 'C',
    style: CAREFUL,
    beatSec: 0.6,
    strokes: wrongAt(grace, [14]),
    first: 'wrong-note',
    before: {
      style: { ...CAREFUL, bendErrorCents: [46, 54] },
      strokes: wrongAt(grace, [14, 22, 30]),
      better: 'bend-short',
    },
  },
];
