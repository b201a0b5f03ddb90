import { findPlayable, pitchesOf, playableNotes } from '../harp/playable.ts';
import type { CustomHarp, PlayableNote } from '../harp/types.ts';
import { guessTonic, keynoteFits } from '../music/keynote.ts';
import { TICKS_PER_BEAT } from '../music/rhythm/metre.ts';
import type { Note } from '../tab/note.ts';
import { buildBeats, givenBeats } from '../take/music.ts';
import type { Take, TakeBeats, TakeSyllable } from '../take/schema.ts';
import { goesOn, printSyllable } from '../take/words.ts';
import { bestSignature } from './notation/spelling.ts';

/** What one verse has on a note: a new syllable, or the one before held. */
export type Sung =
  | {
      readonly kind: 'begin';
      readonly text: string;
      readonly syllabic: TakeSyllable['syllabic'];
      readonly holds: number;
      /** Its language (ISO 639-1), if the take has it. */
      readonly lang: string | null;
    }
  | { readonly kind: 'hold'; readonly last: boolean; readonly inWord: boolean };

/** A note of a take, with everything that formats write about it. */
export interface ScoreNote {
  /** Position in the take's notes. */
  readonly index: number;
  readonly played: Note;
  /** Integer MIDI number of hole and technique on this harp. */
  readonly midi: number;
  /** MIDI numbers of all pitches, lowest first: only that one, unless several holes sound together. */
  readonly midis: readonly number[];
  /** From the first bar line at or before the first note. */
  readonly atTicks: number;
  readonly lengthTicks: number;
  /** By verse, the first at 0; undefined if a verse has nothing there. */
  readonly sung: readonly (Sung | undefined)[];
  /** Name of the section that begins with it, if any. */
  readonly section: string | undefined;
}

/** A take as music, from which every format is written. */
export interface Score {
  readonly title: string;
  readonly take: Take;
  /** All notes of its harp; empty if it has a custom tuning that the take doesn't hold. */
  readonly harp: readonly PlayableNote[];
  readonly beats: TakeBeats;
  readonly notes: readonly ScoreNote[];
  /** Sharps (positive) or flats (negative) of the key signature, -6 to 6. */
  readonly fifths: number;
  /** Pitch class of the keynote, 0 = C … 11 = B. */
  readonly tonic: number;
  /** False if another keynote fits nearly as well, as in an exercise. */
  readonly tonicSure: boolean;
  readonly verses: number;
  /** Syllables without a note, by verse in reading order. */
  readonly leftOver: readonly TakeSyllable[];
}

/** True if a take has a beat grid that places each of its notes. */
export function hasBeats(take: Take): take is Take & { beats: TakeBeats } {
  if (take.beats.notes === undefined) return false;
  const placed = new Map(take.beats.notes.map((note) => [note.id, note]));
  let end = 0;
  return take.notes.every(({ id }) => {
    const place = placed.get(id);
    if (place === undefined || place.atTicks < end) return false;
    end = place.atTicks + place.lengthTicks;
    return true;
  });
}

/** MIDI numbers of a note's pitches, lowest first. */
function midisOf(harp: readonly PlayableNote[], played: Note, midi: number): number[] {
  return [...new Set([midi, ...pitchesOf(harp, played)])].sort((a, b) => a - b);
}

/**
 * A take as music. Its beat grid is used if it places every note; otherwise it is found again with what the player
 * said.
 * @param harp  all notes of its harp; a note that it does not have counts as the nearest semitone
 */
export function buildScore(
  take: Take,
  title: string,
  harp: readonly PlayableNote[] = notesOfHarp(take),
): Score {
  const beats = hasBeats(take) ? take.beats : buildBeats(take.notes, givenBeats(take));
  const places = new Map(beats.notes.map((note) => [note.id, note]));
  const { sung, verses, leftOver } = alignSyllables(take);
  const sections = new Map(take.phrases.map(({ firstNote, name }) => [firstNote, name]));
  const notes = take.notes.map((played, index): ScoreNote => {
    const { atTicks, lengthTicks } = places.get(played.id)!;
    const midi = findPlayable(harp, played)?.midi ?? Math.round(played.midi);
    return {
      index,
      played,
      midi,
      midis: midisOf(harp, played, midi),
      atTicks,
      lengthTicks,
      sung: sung[index],
      section: sections.get(index),
    };
  });
  const lengths = notes.map(({ midi, lengthTicks }) => ({
    midi,
    durationBeats: lengthTicks / TICKS_PER_BEAT,
  }));
  const tonic = lengths.length > 0 ? guessTonic(lengths) : 0;
  const tonicSure = lengths.length > 0 && isSure(lengths);
  return {
    title,
    take,
    harp,
    beats,
    notes,
    tonic,
    fifths: bestSignature(lengths, tonic),
    verses,
    tonicSure,
    leftOver,
  };
}

/** A keynote counts as sure if it fits better than the next one by this (chosen on the sample tunes, no source). */
const SURE_MARGIN = 0.2;

function isSure(notes: readonly { midi: number; durationBeats: number }[]): boolean {
  const [best, next] = keynoteFits(
    notes.map(({ midi, durationBeats }) => ({ midi, length: durationBeats })),
  ).sort((a, b) => b - a);
  return best - next >= SURE_MARGIN;
}

/** All notes of the harp of a take; none if it has a tuning or temperament that neither it nor `custom` holds. */
export function notesOfHarp(take: Take, custom: CustomHarp = {}): PlayableNote[] {
  try {
    return playableNotes(take.harp, custom);
  } catch {
    // A take from an older program lacks the custom tuning, but has the measured pitches.
    return [];
  }
}

function alignSyllables(take: Take): {
  sung: (Sung | undefined)[][];
  verses: number;
  leftOver: TakeSyllable[];
} {
  const places = new Map(take.notes.map(({ id }, index) => [id, index]));
  const verses = take.words.reduce((most, { verse }) => Math.max(most, verse), 0);
  const sung = take.notes.map(() => new Array<Sung | undefined>(verses).fill(undefined));
  const leftOver: TakeSyllable[] = [];
  const begun: { syllable: TakeSyllable; note: number }[] = [];
  for (const syllable of take.words) {
    const { verse, text, syllabic, noteId, lang = null } = syllable;
    const note = noteId === null ? undefined : places.get(noteId);
    if (note === undefined || sung[note][verse - 1] !== undefined) {
      leftOver.push(syllable);
      continue;
    }
    sung[note][verse - 1] = { kind: 'begin', text, syllabic, holds: 0, lang };
    begun.push({ syllable, note });
  }
  for (const { syllable, note } of begun) holdOver(sung, syllable, note);
  return { sung, verses, leftOver };
}

/** Holds a syllable over the notes after its own, up to the next syllable of its verse or the end of the tune. */
function holdOver(sung: (Sung | undefined)[][], syllable: TakeSyllable, note: number): void {
  const place = syllable.verse - 1;
  const held: (Sung | undefined)[][] = [];
  for (let i = note + 1; i < sung.length && i <= note + syllable.holds && sung[i][place] === undefined; i++) {
    held.push(sung[i]);
  }
  const { text, syllabic, lang = null } = syllable;
  sung[note][place] = { kind: 'begin', text, syllabic, holds: held.length, lang };
  for (const [i, verses] of held.entries()) {
    verses[place] = { kind: 'hold', last: i === held.length - 1, inWord: goesOn(syllable) };
  }
}

/** Words without a note, one line per verse, with a hyphen where a word continues or began elsewhere. */
export function leftOverInWords({ leftOver, verses }: Score): string[] {
  const lines: string[] = [];
  for (let verse = 1; verse <= verses; verse++) {
    let text = '';
    for (const syllable of leftOver) {
      if (syllable.verse !== verse) continue;
      const wentOn = syllable.syllabic === 'middle' || syllable.syllabic === 'end';
      text += `${wentOn && !text.endsWith('-') ? '-' : ''}${printSyllable(syllable)}${goesOn(syllable) ? '' : ' '}`;
    }
    text = text.trim();
    if (text !== '') lines.push(verses > 1 ? `${verse}. ${text}` : text);
  }
  return lines;
}
