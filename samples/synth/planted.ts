import type { PlayableNote } from '../../src/harp/types.ts';
import type { PlannedNote, Wave } from './plan.ts';
import type { Range, Rng } from './rng.ts';
import type { PlantedKind, TuneStep } from './tune.ts';

/** Cupped hands: how far they are closed, from 0 (open) to 1, over the note. */
export interface HandMotion {
  /** Loss when closed of the lowest partials and of those from 2 kHz on, in dB. */
  readonly lowDb: number;
  readonly highDb: number;
  /** Openings a second; 0: closed at first, opened once. */
  readonly hz: number;
  /** Share of the note at which they open when it is once. */
  readonly openAt: number;
  /** How long a single opening takes. */
  readonly openSec: number;
}

/** A reed that sounds with the note. */
export interface BesideReed {
  readonly note: PlayableNote;
  readonly levelDb: number;
  readonly cents: number;
  /** How much later than the note it speaks; negative earlier. */
  readonly lateSec: number;
}

type StepNote = Extract<TuneStep, { kind: 'note' }>;

/** Ranges of what is planted, where a player would call it so (common practice; vibrato rates: Desain and others, 1999). */
const SCOOP_CENTS: Range = [60, 220];
const SCOOP_SEC: Range = [0.09, 0.25];
const FALL_CENTS: Range = [70, 260];
const FALL_SEC: Range = [0.1, 0.3];
const VIBRATO_HZ: Range = [4, 7.5];
const VIBRATO_CENTS: Range = [16, 60];
const TREMOLO_HZ: Range = [3.5, 7];
const TREMOLO_DB: Range = [4, 11];
const WAVE_DELAY_SEC: Range = [0.05, 0.2];
const HAND_LOW_DB: Range = [1, 4];
const HAND_HIGH_DB: Range = [12, 20];
const WAH_HZ: Range = [0.9, 2.6];
const HAND_TREMOLO_HZ: Range = [4, 6];
/** No note slides beyond the deepest bend of its hole. */
const BEYOND_BEND_CENTS = 15;
/** Reeds of a chord: level relative to the first, tuning, and how evenly they speak. */
const BESIDE_DB: Range = [-4, 1];
const BESIDE_SPREAD_SEC = 0.008;
const MOST_LATE_SEC = 0.02;
const SHAKE_PER_SEC: Range = [9, 17];
const TURN_UNEVEN = 0.06;
const TURN_SEC = 0.02;

type Find = (hole: number, breath: string, bend: number, over: boolean) => PlayableNote | undefined;

/** The note with what the step asks for. */
export function plant(played: PlannedNote, step: StepNote, rng: Rng, find: Find): PlannedNote {
  const { note, beginSec, endSec } = played;
  const lengthSec = endSec - beginSec;
  const has = (kind: PlantedKind): boolean => step.ornaments?.includes(kind) === true;
  const bends = [1, 2, 3].filter((bend) => find(note.hole, note.breath, bend, false) !== undefined).length;
  const deepest = 100 * Math.max(0, bends - note.bend) + BEYOND_BEND_CENTS;
  const slide = (cents: Range, sec: Range): { cents: number; sec: number } => ({
    cents: Math.min(deepest, rng.between(cents)),
    sec: Math.min(rng.between(sec), lengthSec * 0.45),
  });
  const wave = (hz: Range, depth: Range, scale: number): Wave => ({
    hz: rng.between(hz),
    depth: rng.between(depth) * scale,
    delaySec: rng.between(WAVE_DELAY_SEC),
    phase: rng.between([0, 2 * Math.PI]),
  });
  return {
    ...played,
    ...(has('scoop') ? { scoop: slide(SCOOP_CENTS, SCOOP_SEC), droopCents: 0 } : {}),
    ...(has('fall') ? { fall: slide(FALL_CENTS, FALL_SEC), releaseRiseCents: 0 } : {}),
    ...(has('vibrato') ? { vibrato: wave(VIBRATO_HZ, VIBRATO_CENTS, 1) } : {}),
    ...(has('tremolo') ? { tremolo: wave(TREMOLO_HZ, TREMOLO_DB, 0.5) } : {}),
    ...(has('hand') ? { hand: handMotion(rng) } : {}),
    beside: (step.shake ? [] : (step.beside ?? [])).flatMap((hole) => {
      const other = find(hole, note.breath, 0, false);
      if (!other) throw new Error(`no ${note.breath} ${hole} on this harp`);
      const late = Math.max(-MOST_LATE_SEC, Math.min(MOST_LATE_SEC, rng.normal() * BESIDE_SPREAD_SEC));
      return [{ note: other, levelDb: rng.between(BESIDE_DB), cents: rng.normal() * 4, lateSec: late }];
    }),
  };
}

function handMotion(rng: Rng): HandMotion {
  const kind = rng.next();
  return {
    lowDb: rng.between(HAND_LOW_DB),
    highDb: rng.between(HAND_HIGH_DB),
    hz: kind < 0.35 ? 0 : rng.between(kind < 0.75 ? WAH_HZ : HAND_TREMOLO_HZ),
    openAt: rng.between([0.35, 0.6]),
    openSec: rng.between([0.08, 0.25]),
  };
}

/** How far the hands are closed at a time, 0 to 1. */
export function handClosed({ hand, beginSec, endSec }: PlannedNote, sec: number): number {
  if (!hand) return 0;
  const since = sec - beginSec;
  if (hand.hz > 0) return 0.5 + 0.5 * Math.cos(2 * Math.PI * hand.hz * since);
  const share = (since - hand.openAt * (endSec - beginSec)) / hand.openSec;
  return 0.5 + 0.5 * Math.cos(Math.PI * Math.max(0, Math.min(1, share)));
}

/** Loss at a frequency when the hands are closed this far, in dB. */
export function handLossDb({ lowDb, highDb }: HandMotion, closed: number, hz: number): number {
  const high = Math.max(0, Math.min(1, Math.log2(hz / 500) / 2));
  return closed * (lowDb + (highDb - lowDb) * high);
}

/** A shake as the notes that it is made of: the two holes in quick alternation. */
export function turnsOf(played: PlannedNote, step: StepNote, rng: Rng, find: Find): PlannedNote[] {
  const other = find(step.beside?.[0] ?? 0, played.note.breath, 0, false);
  if (!other) throw new Error(`no ${played.note.breath} ${step.beside?.[0]} on this harp`);
  const perSec = rng.between(SHAKE_PER_SEC);
  const count = Math.max(4, Math.round((played.endSec - played.beginSec) * perSec));
  const turnSec = (played.endSec - played.beginSec) / count;
  const begins = Array.from({ length: count }, (_, i) =>
    i === 0 ? played.beginSec : played.beginSec + (i + rng.normal() * TURN_UNEVEN) * turnSec,
  );
  const offset = rng.normal() * 4;
  return begins.map((beginSec, i) => ({
    ...played,
    note: i % 2 === 0 ? played.note : other,
    offsetCents: i % 2 === 0 ? played.offsetCents : offset,
    start: i === 0 ? played.start : 'slur',
    beginSec,
    endSec: begins[i + 1] ?? played.endSec,
    joinSec: i === 0 ? played.joinSec : Math.min(TURN_SEC, 0.4 * turnSec),
    dip: i === 0 ? played.dip : null,
    droopCents: i === 0 ? played.droopCents : 0,
    scoop: null,
    vibrato: null,
    leak: null,
    turn: i,
  }));
}
