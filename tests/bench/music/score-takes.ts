import { type Rng, seededRng } from '../../../samples/synth/rng.ts';
import { isCompound, TICKS_PER_BEAT } from '../../../src/music/rhythm/metre.ts';
import { type Score, scoresOf } from './scores.ts';

/** A tune with its score, and the times at which a made-up player plays it. */
export interface ScoreTake {
  readonly name: string;
  readonly metre: { readonly count: number; readonly unit: number };
  readonly pickupTicks: number;
  readonly tempoBpm: number;
  /** Written lengths in beats; a rest after a note is no part of it. */
  readonly values: readonly number[];
  /** Ticks of each note from the bar line at or before it. */
  readonly inBarTicks: readonly number[];
  /** First notes of the lines of the score. */
  readonly lineStarts: readonly number[];
  readonly notes: readonly { readonly onsetSec: number; readonly offsetSec: number; readonly midi: number }[];
}

/**
 * The scores of a folder (`scoresOf`), one in `every` of its tunes from `first` on, played with a pause for breath after each
 * line and the looseness of a student.
 */
export function scoreTakes(
  folder: string,
  every: number,
  first: number,
  rubato = false,
  anyTempo = false,
  seed = 0,
): ScoreTake[] {
  return [...scoresOf(folder, every, first)].map((score) => scoreTake(score, { rubato, anyTempo, seed }));
}

/** More than there are tunes in a folder, so that no two takes are alike. */
const SEEDS_APART = 100_003;
/** Pulses a minute of made-up players, and of those who play at any tempo, in simple and in compound time. */
const PULSES = { usual: [66, 120], any: [66, 144], anyCompound: [46, 112] } as const;
/** Share of those who play at any tempo that hold notes at line ends without a breath. */
const HOLDERS = 0.3;
/** Shortest note, and shortest step to the next. */
const SHORTEST_SEC = 0.05;
/** Share of free players that leave gaps between their notes, and the longest gap. */
const DETACHED = { share: 0.3, mostSec: 0.18 };

function scoreTake(
  score: Score,
  { rubato, anyTempo, seed }: { rubato: boolean; anyTempo: boolean; seed: number },
): ScoreTake {
  const { metre, pickupBeats } = score;
  const barBeats = (4 * metre.count) / metre.unit;
  const rng = seededRng(score.position + SEEDS_APART * seed).fork('player');
  const compound = isCompound(metre);
  const pulseBpm = rng.between(anyTempo ? (compound ? PULSES.anyCompound : PULSES.any) : PULSES.usual);
  const tempoBpm = compound ? pulseBpm * 1.5 : pulseBpm;
  const beatSec = 60 / tempoBpm;
  const looseSec = rng.between([0.008, 0.02]);
  const notes: { onsetSec: number; offsetSec: number; midi: number }[] = [];
  const clock = rubato ? wanderingClock(rng.fork('rubato')) : (sec: number) => sec;
  const detached = rng.fork('detached');
  const gapSec =
    rubato && detached.chance(DETACHED.share) ? detached.between([0.04, DETACHED.mostSec]) : 0.04;
  const holds = anyTempo && rng.fork('holds').chance(HOLDERS);
  let pauses = 0;
  for (const [i, note] of score.notes.entries()) {
    const line = i > 0 && score.lineStarts.includes(i);
    if (line) pauses += rng.between([0.12, 0.6]);
    const next = score.notes[i + 1];
    const rests = next !== undefined && restsBefore(score, i + 1);
    const lengthSec = note.durationBeats * beatSec;
    const onsetSec = Math.max(
      0.4 +
        pauses +
        note.onsetBeats * beatSec +
        Math.max(-0.4, Math.min(0.4, (rng.normal() * looseSec) / lengthSec)) * lengthSec,
      (notes[i - 1]?.onsetSec ?? 0) + SHORTEST_SEC + 0.01,
    );
    const inLine = rubato && note.durationBeats >= 1 && rng.chance(IN_LINE_BREATHS);
    const breath = next === undefined || rests || inLine || score.lineStarts.includes(i + 1);
    const offsetSec = onsetSec + Math.max(SHORTEST_SEC, lengthSec * (breath ? rng.between([0.7, 0.95]) : 1));
    if (i > 0) {
      const before = notes[i - 1];
      const heldOn = line && holds && !restsBefore(score, i);
      const endSec = Math.min(heldOn ? onsetSec : before.offsetSec, onsetSec - rng.between([0, gapSec]));
      before.offsetSec = Math.max(before.onsetSec + SHORTEST_SEC, endSec);
    }
    notes.push({ onsetSec, offsetSec, midi: note.midi });
    if (inLine && rng.chance(0.5)) pauses += rng.between([0.1, 0.3]);
  }
  for (const note of notes) {
    note.onsetSec = clock(note.onsetSec);
    note.offsetSec = clock(note.offsetSec);
  }
  return {
    name: score.name,
    metre,
    pickupTicks: Math.round(pickupBeats * TICKS_PER_BEAT),
    tempoBpm,
    values: score.notes.map(({ durationBeats }) => durationBeats),
    inBarTicks: score.notes.map(({ onsetBeats }) => {
      const ticks = Math.round((onsetBeats - pickupBeats + barBeats) * TICKS_PER_BEAT);
      return ticks % (barBeats * TICKS_PER_BEAT);
    }),
    lineStarts: score.lineStarts,
    notes,
  };
}

/** True where the score has a rest before a note. */
function restsBefore({ notes }: Score, i: number): boolean {
  const { onsetBeats, durationBeats } = notes[i - 1];
  return notes[i].onsetBeats > onsetBeats + durationBeats + 1e-6;
}

/** A free player breathes inside a line after this many notes of a beat or more. */
const IN_LINE_BREATHS = 0.12;
/** Spread of the natural log of the tempo, and within how many seconds it wanders. */
const RUBATO_SPREAD = 0.05;
const RUBATO_SEC = 3;

/** A clock whose rate wanders; times must not go back by more than a second. */
function wanderingClock(rng: Rng): (sec: number) => number {
  const step = 0.05;
  const at: number[] = [0];
  let wander = RUBATO_SPREAD * rng.normal();
  const kept = Math.exp(-step / RUBATO_SEC);
  return (sec) => {
    while (at.length * step <= sec + step) {
      wander = kept * wander + RUBATO_SPREAD * Math.sqrt(1 - kept * kept) * rng.normal();
      at.push(at[at.length - 1] + step * Math.exp(wander));
    }
    const before = Math.floor(sec / step);
    return at[before] + (sec / step - before) * (at[before + 1] - at[before]);
  };
}
