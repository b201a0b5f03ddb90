import { planTake } from '../../../samples/synth/plan.ts';
import { type Rng, seededRng } from '../../../samples/synth/rng.ts';
import type { Degradation } from '../../../samples/synth/scene/roughen.ts';
import { CLEAN, type PlayingStyle, STUDENT, varied } from '../../../samples/synth/style.ts';
import type { TruthNote } from '../../../samples/synth/truth.ts';
import type { TuneStep } from '../../../samples/synth/tune.ts';
import { walk } from '../../../samples/synth/walk.ts';
import { TUNES } from '../../../samples/tunes.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { type Finding, TOLERANCES } from '../../../src/check/finding.ts';
import { judge } from '../../../src/check/judging/judge.ts';
import { HARP_KEYS } from '../../../src/harp/keys.ts';
import { findPlayable, playableNotes } from '../../../src/harp/playable.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';
import { transcribe } from '../../../src/pipeline.ts';
import type { Take } from '../../../src/take/schema.ts';
import { buildTake } from '../../../src/take/take.ts';
import {
  PLANTABLE,
  type Planted,
  referenceOf,
  type Stroke,
  strokesOf,
  withMistakes,
} from '../../check/student.ts';
import { EXAMPLE_SOURCE } from '../../take/example.ts';
import { planned, RATE } from './planned-sound.ts';

/*
 * Students' mistakes planted in sound: a tune is played with mistakes by the synthesiser, heard by the whole product
 * and compared with the tune. What is found is matched with what was planted by time.
 */

/** A finding belongs to a planted mistake when it names a time this near; onsets in rooms are found that late. */
const NEAR_SEC = 0.15;
/** Onsets of one and the same note lie so near. */
const SAME_NOTE_SEC = 0.08;
/** A pause shorter than this (s) is no rest: the player holds the note before for longer. */
const SHORTEST_REST_SEC = 0.09;
/** Bends further off than the tolerance by this much, or nearer by it, are clear cases (cents). */
const CLEAR_CENTS = 5;

/** How a student plays and is recorded. */
export interface Situation {
  readonly name: string;
  readonly style: PlayingStyle;
  readonly degradation: Degradation;
  /** Standard deviation of onsets around the beat, in seconds. */
  readonly spreadSec: number;
  /** Only unknown tunes, this share of whose notes are bends, without planted mistakes. */
  readonly bendsOnly?: number;
}

export const SITUATIONS: readonly Situation[] = [
  { name: 'practised, clean', style: CLEAN, degradation: {}, spreadSec: 0.012 },
  { name: 'student, clean', style: STUDENT, degradation: {}, spreadSec: 0.02 },
  { name: 'student, noise 20 dB', style: STUDENT, degradation: { snr: 20, noise: 'pink' }, spreadSec: 0.02 },
  { name: 'student, room 0.4 s', style: STUDENT, degradation: { rt60: 0.4, drr: 6 }, spreadSec: 0.02 },
  {
    name: 'student, room, phone',
    style: STUDENT,
    degradation: { rt60: 0.4, drr: 6, snr: 24, noise: 'pink', phone: 'wide' },
    spreadSec: 0.02,
  },
];

/** Bends missed by up to more than half a semitone either way, compared with the tune. */
export const BENDS_MISSED: readonly Situation[] = [
  {
    name: 'bends off by -60 to +60, clean',
    style: { ...CLEAN, bendErrorCents: [-60, 60] },
    degradation: {},
    spreadSec: 0.012,
    bendsOnly: 0.4,
  },
  {
    name: 'the same, room and phone',
    style: { ...STUDENT, bendErrorCents: [-60, 60] },
    degradation: { rt60: 0.4, drr: 6, snr: 24, noise: 'pink', phone: 'wide' },
    spreadSec: 0.012,
    bendsOnly: 0.4,
  },
];

/** What was found of what was planted. */
export interface SoundTally {
  readonly planted: number;
  readonly found: number;
  readonly notes: number;
  readonly byKind: ReadonlyMap<string, { planted: number; found: number }>;
  /** Findings without a cause, by kind. */
  readonly falseKinds: ReadonlyMap<string, number>;
  /** Bends called short, good or too deep: how many are so, and how many of them are called so. */
  readonly bends: ReadonlyMap<string, { are: number; called: number }>;
  /** In words, for those who look into it. */
  readonly log: readonly string[];
}

/** Plays, hears and checks `rounds` students. The same seed plays the same. */
export async function tallySound(situation: Situation, rounds: number, seed: number): Promise<SoundTally> {
  const tally = new SoundTallying();
  for (let round = 0; round < rounds; round++) {
    const played = playStudent(situation, seed * 1000 + round);
    tally.add(`round ${round}`, played, await takeOfStudent(played));
  }
  return tally.sum();
}

/** Counts what is found in student after student. */
export class SoundTallying {
  readonly #byKind = new Map<string, { planted: number; found: number }>();
  readonly #falseKinds = new Map<string, number>();
  readonly #bends = new Map<string, { are: number; called: number }>();
  readonly #log: string[] = [];
  #notes = 0;

  /** @param judged  what is found, where another check than that of the product found it */
  add(name: string, played: Truth, take: Take, judged?: readonly Finding[]): void {
    this.#notes += played.truth.length;
    const findings = judged ?? judge(take, referenceOf(played.tune, played.harp.key), TOLERANCES).findings;
    const left = new Set(findings);
    for (const mistake of played.planted) {
      const tally = this.#byKind.get(mistake.kind) ?? { planted: 0, found: 0 };
      this.#byKind.set(mistake.kind, tally);
      tally.planted++;
      const hit = [...left].find(
        (finding) => finding.kind === mistake.kind && isOf(finding, mistake, played),
      );
      if (hit === undefined) {
        this.#log.push(`${name}: not found: ${mistake.kind} at ${timeOf(mistake, played)?.toFixed(2)} s`);
      } else {
        tally.found++;
        left.delete(hit);
      }
    }
    for (const finding of left) {
      if (hasCause(finding, played)) continue;
      this.#falseKinds.set(finding.kind, (this.#falseKinds.get(finding.kind) ?? 0) + 1);
      this.#log.push(`${name}: not planted: ${finding.timeSec.toFixed(2)} s ${finding.message}`);
    }
    countBends(this.#bends, played, findings);
  }

  sum(): SoundTally {
    const all = [...this.#byKind.values()];
    return {
      planted: all.reduce((sum, { planted }) => sum + planted, 0),
      found: all.reduce((sum, { found }) => sum + found, 0),
      notes: this.#notes,
      byKind: this.#byKind,
      falseKinds: this.#falseKinds,
      bends: this.#bends,
      log: this.#log,
    };
  }
}

/** What of a student's playing is needed to tell what is true of it. */
type Truth = Omit<PlayedStudent, 'samples'>;

/** A student as planned and as rendered. */
export interface PlayedStudent {
  readonly harp: HarpSpec;
  readonly tune: readonly Stroke[];
  readonly planted: readonly Planted[];
  readonly samples: Samples;
  /** One for each stroke that was played, in order of time, and the place of each stroke in it. */
  readonly truth: readonly TruthNote[];
  readonly places: readonly number[];
}

/** One student, rendered. The same seed gives the same. */
export function playStudent(
  { style, degradation, spreadSec, bendsOnly }: Situation,
  seed: number,
): PlayedStudent {
  const rng = seededRng(seed);
  const harp: HarpSpec = {
    key: rng.pick(HARP_KEYS),
    tuning: 'richter',
    temperament: 'equal',
    a4Hz: rng.pick([440, 441, 442, 443]),
  };
  const playable = playableNotes(harp);
  const tune = strokesOf(tuneOf(harp, seed, rng, bendsOnly));
  const beatSec = rng.between([0.42, 0.68]);
  const kinds = bendsOnly !== undefined ? [] : [...PLANTABLE].sort(() => rng.next() - 0.5);
  const { strokes, planted } = withMistakes(tune, kinds, { beatSec, spreadSec, key: harp.key }, rng);
  const order = strokes
    .map((_, i) => i)
    .sort((a, b) => startOf(strokes[a], beatSec) - startOf(strokes[b], beatSec));
  const steps = stepsOf(
    order.map((i) => strokes[i]),
    beatSec,
  );
  // The strokes have their own timing; pauses are theirs, too.
  const timed = {
    ...varied(style, rng),
    tempoBpm: 60 / beatSec,
    timingSec: 0,
    phrasePauseSec: [0, 0] as const,
  };
  const plan = planTake(steps, playable, timed, rng.fork('plan'));
  const { samples, notes } = planned(plan, harp, timed.tempoBpm, degradation, rng);
  const places: number[] = [];
  order.forEach((stroke, place) => {
    places[stroke] = place;
  });
  return { harp, tune, planted, samples: Samples.from(samples, RATE), truth: notes, places };
}

/** Well-known tunes and unknown ones, but none that alternates 2 draw and 3 blow, which nobody would play. */
function tuneOf(harp: HarpSpec, seed: number, rng: Rng, bendsOnly: number | undefined): string {
  const names = Object.keys(TUNES) as (keyof typeof TUNES)[];
  if (seed % 2 === 0 && bendsOnly === undefined) return TUNES[names[(seed / 2) % names.length]];
  const playable = playableNotes(harp);
  for (;;) {
    const tab = walk(
      playable,
      {
        notes: 45,
        beats: [0.5, 1, 1, 2],
        bendShare: bendsOnly ?? 0.12,
        overShare: 0,
        repeatShare: 0.15,
        holes: [1, bendsOnly === undefined ? 9 : 10],
      },
      rng,
    );
    const steps = strokesOf(tab).map(({ tab }) => tab);
    const alternates = steps.some((tab, i) => {
      const before = steps[i - 1];
      if (before === undefined || sameTab(before, tab)) return false;
      return findPlayable(playable, before)!.midi === findPlayable(playable, tab)!.midi;
    });
    if (!alternates) return tab;
  }
}

const startOf = ({ onset, lateSec = 0 }: Stroke, beatSec: number): number => onset + lateSec / beatSec;

/** Strokes in order of time as the steps of a tune: what lies between them is held, or a rest where it is long. */
export function stepsOf(strokes: readonly Stroke[], beatSec: number): TuneStep[] {
  return strokes.flatMap((stroke, i): TuneStep[] => {
    const start = startOf(stroke, beatSec);
    const next = strokes[i + 1];
    const until = next === undefined ? start + stroke.length : startOf(next, beatSec);
    const rest = until - start - stroke.length;
    const rests = rest * beatSec >= SHORTEST_REST_SEC;
    const note: TuneStep = {
      kind: 'note',
      ...stroke.tab,
      beats: rests ? stroke.length : until - start,
      joined: false,
    };
    return rests ? [note, { kind: 'rest', beats: rest }] : [note];
  });
}

/** What the whole product makes of it, the harp told. */
export async function takeOfStudent({ harp, samples }: PlayedStudent): Promise<Take> {
  const found = await transcribe(samples, { harp: harp.key });
  return buildTake({ ...EXAMPLE_SOURCE, durationSec: samples.durationSec }, found);
}

/** When a planted mistake happens; null for a missed note. */
function timeOf({ stroke }: Planted, { truth, places }: Truth): number | null {
  return stroke === null ? null : truth[places[stroke]].onsetSec;
}

function isOf(finding: Finding, mistake: Planted, played: Truth): boolean {
  const sec = timeOf(mistake, played);
  if (sec !== null) return Math.abs(finding.timeSec - sec) < NEAR_SEC;
  // Of notes of one pitch in a row, nobody can say which was left out.
  const { tune } = played;
  const { referenceIndex: b } = finding;
  if (b === null || mistake.referenceIndex === null) return false;
  const [from, to] = [Math.min(b, mistake.referenceIndex), Math.max(b, mistake.referenceIndex)];
  return tune.slice(from, to + 1).every(({ tab }) => sameTab(tab, tune[b].tab));
}

const sameTab = (a: Stroke['tab'], b: Stroke['tab']): boolean =>
  a.hole === b.hole && a.breath === b.breath && a.bend === b.bend && a.over === b.over;

/** Whether a finding that was not planted is true all the same: the synthesiser leaks and misses bends by itself. */
function hasCause(finding: Finding, { truth }: Truth): boolean {
  const away = ({ onsetSec }: TruthNote): number => Math.abs(onsetSec - finding.timeSec);
  const note = truth.reduce((nearest, other) => (away(other) < away(nearest) ? other : nearest));
  if (away(note) > NEAR_SEC) return false;
  if (finding.kind === 'second-reed') return note.leak !== null;
  if (finding.kind === 'bend-short') return note.cents > TOLERANCES.bendCents - CLEAR_CENTS;
  if (finding.kind === 'bend-sharp') return note.cents < CLEAR_CENTS - TOLERANCES.bendCents;
  // The right pitch from another hole is a different sound: only the tab can be right or wrong.
  return false;
}

/** Counts bends that are clearly short, good or too deep, and how the check calls them. */
function countBends(
  bends: Map<string, { are: number; called: number }>,
  { truth }: Truth,
  findings: readonly Finding[],
): void {
  for (const note of truth) {
    if (note.bend === 0 || note.sustainSec[1] - note.sustainSec[0] < 0.1) continue;
    const off = Math.abs(Math.abs(note.cents) - TOLERANCES.bendCents);
    if (off < CLEAR_CENTS) continue;
    const is = callOf(note.cents);
    const said = findings.find(
      ({ kind, timeSec }) => kind.startsWith('bend-') && Math.abs(timeSec - note.onsetSec) < SAME_NOTE_SEC,
    );
    const called = said === undefined ? 'good' : said.kind === 'bend-short' ? 'short' : 'too deep';
    const tally = bends.get(is) ?? { are: 0, called: 0 };
    bends.set(is, tally);
    tally.are++;
    if (called === is) tally.called++;
  }
}

function callOf(cents: number): 'short' | 'good' | 'too deep' {
  return cents > TOLERANCES.bendCents ? 'short' : cents < -TOLERANCES.bendCents ? 'too deep' : 'good';
}
