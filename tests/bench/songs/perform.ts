import { type PlannedNote, planTake } from '../../../samples/synth/plan.ts';
import type { Rng } from '../../../samples/synth/rng.ts';
import type { PlayingStyle } from '../../../samples/synth/style.ts';
import { parseTune, type TuneStep } from '../../../samples/synth/tune.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';
import type { Song } from './songs.ts';

/** A line of a song as it is sung and played. */
export interface SungLine {
  /** 1 to 3; 0 for a line of the refrain. */
  readonly verse: number;
  readonly tune: string;
  readonly words: string;
}

/** What was really played: each note's place in its bar, and the lines. */
export interface Performance {
  readonly plan: readonly PlannedNote[];
  readonly lines: readonly (SungLine & { readonly firstNote: number; readonly lastNote: number })[];
  /** For each note, quarter notes from the first bar line at or before the first note. */
  readonly atBeats: readonly number[];
}

/** The lines of a song, some of its verses one after the other, each with the refrain. */
export function linesOf(song: Song, verses: readonly number[]): SungLine[] {
  return verses.flatMap((verse) => [
    ...song.verses[verse - 1].map((words, i): SungLine => {
      const varied = song.variation?.verse === verse && song.variation.line === i + 1 ? song.variation : null;
      return { verse, tune: varied?.tune ?? song.verse[i], words };
    }),
    ...(song.refrain?.words ?? []).map((words, i): SungLine => {
      return { verse: 0, tune: song.refrain?.tune[i] ?? '', words };
    }),
  ]);
}

/** For each note of a line, true where it continues with the syllable before. */
export function heldNotes(words: string): boolean[] {
  return words
    .split(/[\s-]+/)
    .flatMap((syllable) => [false, ...new Array<boolean>((syllable.match(/_/g) ?? []).length).fill(true)]);
}

const BREATH = {
  /** Shares of line ends, and of notes of a beat and more inside lines, after which the player breathes. */
  atLineEnd: 0.85,
  withinLine: 0.12,
  /** Share of breaths that are taken out of the note before; the others hold the clock up. */
  inTime: 0.5,
  lineEndSec: [0.15, 0.6],
  withinSec: [0.14, 0.35],
} as const;
/** Tempo wanders by this (standard deviation of its natural log) within this many seconds, and slows at line ends. */
const RUBATO = { spread: 0.05, withinSec: 3, lineEnd: [0, 0.18] } as const;

/** Plays lines of a song with rubato and breaths; notes that go on with a syllable are slurred where the harp allows it. */
export function perform(
  song: Song,
  lines: readonly SungLine[],
  harp: HarpSpec,
  style: PlayingStyle,
  rng: Rng,
): Performance {
  const steps: TuneStep[] = [];
  const placed: Performance['lines'][number][] = [];
  const atBeats: number[] = [];
  const slower: number[] = [];
  const barBeats = (4 * song.metre.count) / song.metre.unit;
  let beat = song.pickupBeats === 0 ? 0 : barBeats - song.pickupBeats;
  const breaths = rng.fork('breaths');
  for (const line of lines) {
    const notes = parseTune(line.tune);
    const held = heldNotes(line.words);
    const firstNote = atBeats.length;
    notes.forEach((note, i) => {
      if (note.kind !== 'note') throw new Error(`${song.name}: only notes are expected in '${line.tune}'`);
      const last = i === notes.length - 1;
      const breathes = last
        ? breaths.chance(BREATH.atLineEnd)
        : note.beats >= 1 && !held[i + 1] && breaths.chance(BREATH.withinLine);
      const sec = breathes ? breaths.between(last ? BREATH.lineEndSec : BREATH.withinSec) : 0;
      const inBeats = (sec * song.tempoBpm) / 60;
      const inTime = breathes && breaths.chance(BREATH.inTime) && inBeats < 0.5 * note.beats;
      steps.push({ ...note, joined: held[i] ?? false, beats: note.beats - (inTime ? inBeats : 0) });
      if (breathes) steps.push({ kind: 'rest', beats: inBeats });
      atBeats.push(beat);
      slower.push(i >= notes.length - 2 ? breaths.between(RUBATO.lineEnd) : 0);
      beat += note.beats;
    });
    placed.push({ ...line, firstNote, lastNote: atBeats.length - 1 });
  }
  const tempo = { ...style, tempoBpm: song.tempoBpm };
  const plan = planTake(steps, playableNotes(harp), tempo, rng.fork('plan'));
  return { plan: bent(plan, slower, rng.fork('rubato')), lines: placed, atBeats };
}

/** The plan on a clock that wanders. */
function bent(plan: readonly PlannedNote[], slower: readonly number[], rng: Rng): PlannedNote[] {
  let wander = RUBATO.spread * rng.normal();
  let clock = plan[0]?.beginSec ?? 0;
  return plan.map((note, i) => {
    const next = plan[i + 1];
    const sec = (next?.beginSec ?? note.endSec) - note.beginSec;
    const kept = Math.exp(-sec / RUBATO.withinSec);
    wander = kept * wander + RUBATO.spread * Math.sqrt(1 - kept * kept) * rng.normal();
    const factor = Math.exp(wander) * (1 + slower[i]);
    const beginSec = clock;
    // A breath keeps its length; a note that goes straight on to the next still does.
    const soundsSec = Math.max(0.05, (note.endSec - note.beginSec) * factor);
    const gapSec = next === undefined ? 0 : next.beginSec - note.endSec;
    clock += soundsSec + gapSec;
    return { ...note, beginSec, endSec: beginSec + soundsSec };
  });
}
