import { parseHarpKey } from '../../harp/keys.ts';
import { findPlayable, pitchesOf, playableNotes } from '../../harp/playable.ts';
import type { CustomHarp, PlayableNote } from '../../harp/types.ts';
import type { Melody } from '../../music/melody.ts';
import { barNumber } from '../../music/rhythm/metre.ts';
import { type TabNote, tabOf } from '../../tab/tab-note.ts';
import type { Take } from '../../take/schema.ts';
import { ISO_A4_HZ } from '../../units.ts';

/** One note that should be played. */
export interface ReferenceNote {
  /** Integer MIDI number as written; the highest note of a chord. */
  readonly midi: number;
  /** All pitches that sound at once, ascending, where there are several. */
  readonly chord?: readonly number[];
  /** Where it is played on the reference's harp; null when the reference names none. */
  readonly tab: TabNote | null;
  /** When it begins and how long it lasts, in the reference's own unit: quarter notes, or seconds of a take. */
  readonly onset: number;
  readonly length: number;
  /** Counted from 1, with the pick-up as bar 0; null when there are no bars. */
  readonly bar: number | null;
  /** Line (phrase) and place in it, both from 1. */
  readonly line: number;
  readonly place: number;
  /** Syllable sung to it in the verse that is played, by default the first. */
  readonly word: string | null;
  /** Its syllables verse by verse, where several verses are sung to the same notes. */
  readonly verses?: readonly (string | null)[];
  /** True where players breathe: at the start of a line or phrase, after a rest or a long note. */
  readonly breathBefore: boolean;
  /** How it was played, if the reference is a take; what the reference does too is not a fault. */
  readonly played?: Pick<Take['notes'][number], 'cents' | 'leak' | 'harmonicityDb'>;
}

/** What a student's take is compared with. */
export interface Reference {
  readonly name: string;
  readonly notes: readonly ReferenceNote[];
  /** False when the reference has no note lengths: then timing is not judged. */
  readonly timed: boolean;
  /** Hole-1 blow of its harp, and its tuning, when it names one. */
  readonly harp: { readonly tonicMidi: number; readonly tuning: string } | null;
}

/** A reference from a written tune. */
export function referenceFromMelody(
  name: string,
  melody: Melody,
  played: { readonly tonicMidi: number; readonly tuning: string; readonly tab: readonly TabNote[] } | null,
): Reference {
  const breaths = breathsOf(
    melody.notes.map(({ onsetBeats, durationBeats }) => ({ onset: onsetBeats, length: durationBeats })),
    melody.lineStarts,
  );
  const bar = melody.metre === null ? null : (4 * melody.metre.count) / melody.metre.unit;
  const pickup = melody.pickupBeats ?? 0;
  const places = placesIn(melody.lineStarts, melody.notes.length);
  return {
    name,
    notes: melody.notes.map((note, i) => ({
      ...soundOf(note.chord ?? [note.midi]),
      tab: played?.tab[i] ?? null,
      onset: note.onsetBeats,
      length: note.durationBeats,
      bar: bar === null ? null : Math.floor((note.onsetBeats - pickup) / bar + 1e-6) + 1,
      ...places[i],
      word: note.word ?? null,
      breathBefore: breaths[i],
    })),
    // Tab without lengths counts every note as one beat.
    timed: played === null || melody.notes.some(({ durationBeats }) => durationBeats !== 1),
    harp: played,
  };
}

/** A reference from a take: the notes as they were meant, at the times when they were played. */
export function referenceFromTake(name: string, take: Take, custom: CustomHarp = {}): Reference {
  const harp = takeHarp(take, custom);
  const places = placesIn(
    take.phrases.map(({ firstNote }) => firstNote),
    take.notes.length,
  );
  const bars = barsOf(take);
  const breaths = breathsOf(
    take.notes.map(({ onsetSec, offsetSec }) => ({ onset: onsetSec, length: offsetSec - onsetSec })),
    take.phrases.map(({ firstNote }) => firstNote),
  );
  const words = wordsOf(take.words);
  return {
    name,
    notes: take.notes.map((note, i) => ({
      ...soundOf(soundingMidis(harp, note)),
      tab: tabOf(note),
      onset: note.onsetSec,
      length: note.offsetSec - note.onsetSec,
      bar: bars.get(note.id) ?? null,
      ...places[i],
      word: words.get(note.id)?.[0] ?? null,
      verses: words.get(note.id) ?? [],
      breathBefore: breaths[i],
      played: { cents: note.cents, leak: note.leak, harmonicityDb: note.harmonicityDb },
    })),
    timed: true,
    harp: { tonicMidi: parseHarpKey(take.harp.key).tonicMidi, tuning: take.harp.tuning },
  };
}

/** The pitches of a reference note. @param midis  ascending */
function soundOf(midis: readonly number[]): Pick<ReferenceNote, 'midi' | 'chord'> {
  const midi = midis[midis.length - 1];
  return midis.length > 1 ? { midi, chord: midis } : { midi };
}

/** Syllables of each note by its id, the first verse first. */
function wordsOf(syllables: Take['words']): Map<string, (string | null)[]> {
  const words = new Map<string, (string | null)[]>();
  for (const { noteId, text } of syllables.toSorted((a, b) => a.verse - b.verse)) {
    if (noteId === null) continue;
    words.set(noteId, [...(words.get(noteId) ?? []), text]);
  }
  return words;
}

/** The reference with the words of another verse, from 1; notes that have no words there keep none. */
export function inVerse(reference: Reference, verse: number): Reference {
  return {
    ...reference,
    notes: reference.notes.map((note) => {
      const { verses = [] } = note;
      return verses.length === 0
        ? note
        : { ...note, word: verses[Math.min(verse, verses.length) - 1] ?? null };
    }),
  };
}

/** Bar of each note of a take by its id; a pick-up is bar 0. Empty in free time. */
function barsOf({ beats }: Take): Map<string, number> {
  if (beats.notes === undefined || beats.metre === null) return new Map();
  const { metre, pickupTicks } = beats;
  return new Map(beats.notes.map(({ id, atTicks }) => [id, barNumber(atTicks, metre, pickupTicks)]));
}

/** All notes of the harp of a take. */
export function takeHarp(take: Take, custom: CustomHarp = {}): PlayableNote[] {
  const { key, tuning, custom: held } = take.harp;
  // The temperament does not change where notes lie or what they are called.
  return playableNotes(
    { key, tuning, temperament: 'equal', a4Hz: ISO_A4_HZ, custom: held },
    custom.layout ? { layout: custom.layout } : {},
  );
}

/** The pitch of a note on its harp; the nearest semitone when the harp has no such note. */
export function nominalMidi(
  harp: readonly PlayableNote[],
  note: TabNote & { readonly midi: number },
): number {
  return findPlayable(harp, note)?.midi ?? Math.round(note.midi);
}

/** All pitches of a note on one or several holes, ascending; at least one. */
export function soundingMidis(
  harp: readonly PlayableNote[],
  note: TabNote & { readonly midi: number },
): readonly number[] {
  const midis = note.holes === undefined ? [] : pitchesOf(harp, note);
  return midis.length > 1 ? midis : [nominalMidi(harp, note)];
}

function placesIn(starts: readonly number[], count: number): { line: number; place: number }[] {
  const begins = new Set(starts);
  let line = 0;
  let place = 0;
  return Array.from({ length: count }, (_, i) => {
    if (i === 0 || begins.has(i)) {
      line++;
      place = 0;
    }
    place++;
    return { line, place };
  });
}

/** A rest of this share of the usual step, or a note this many times as long, leaves time to breathe. */
const REST_STEPS = 0.4;
const LONG_STEPS = 1.9;

function breathsOf(
  notes: readonly { readonly onset: number; readonly length: number }[],
  starts: readonly number[],
): boolean[] {
  const steps = notes.slice(1).map(({ onset }, i) => onset - notes[i].onset);
  const usual = steps.toSorted((a, b) => a - b)[steps.length >> 1] ?? 1;
  const begins = new Set(starts);
  return notes.map(({ onset }, i) => {
    if (i === 0 || begins.has(i)) return true;
    const before = notes[i - 1];
    return (
      onset - before.onset >= LONG_STEPS * usual || onset - before.onset - before.length >= REST_STEPS * usual
    );
  });
}
