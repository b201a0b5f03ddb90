import { type ChordOnHarp, chordOnHarp } from '../../harp/chords.ts';
import { parseHarpKey } from '../../harp/keys.ts';
import { noteName } from '../../harp/names.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { TabNote } from '../../tab/tab-note.ts';
import type { Take } from '../../take/schema.ts';
import { holeName } from '../words.ts';
import type { Match } from './match.ts';
import { compareSounds, sameReed } from './pitch-costs.ts';
import { nominalMidi, type Reference, type ReferenceNote } from './reference.ts';

type TakeNote = Take['notes'][number];

/** A student's note compared with the note it stands for. */
export interface Fit {
  /** Semitones from the wanted pitch up to the played one. */
  readonly apart: number;
  /** Cents from the wanted pitch up to the sounding one. */
  readonly cents: number;
  /** The bend or overbend that is wanted on the student's reed; null when the wanted note is not a bend there. */
  readonly bend: TabNote | null;
  /** Right pitch, or a bend that was missed by less than would make it another note. */
  readonly right: boolean;
  /** The hole that was asked for, when the right pitch surely came from another. */
  readonly elsewhere: TabNote | null;
  /**
   * Holes that should sound and don't, and holes that sound and shouldn't, by name: `hole 5`. Both are empty for a
   * wrong note.
   */
  readonly missing: readonly string[];
  readonly extra: readonly string[];
  /**
   * How a shake was missed: `plain` where one of its notes was held alone, `together` where both were held, `shaken`
   * where a plain note was wanted; null otherwise. Then `missing` and `extra` are empty.
   */
  readonly shake: 'plain' | 'together' | 'shaken' | null;
}

/** A bend that is off by more than a semitone is no longer a missed bend but another note. */
const ANOTHER_NOTE_CENTS = 105;
/** No plain reed is this far out of tune: such a note is a missed bend. */
const FAR_FOR_A_REED_CENTS = 30;
/**
 * Another hole for the same pitch is reported only when its sound makes the one asked for, which 99 in 100 play, less
 * likely than this. [assumed; of the holes reported for rendered students, who all play the one asked for, half were at
 * 0.03 to 0.05]
 */
const MOST_DOUBT = 0.01;

/** Semitones from a note to those of its overtones that the harp also has: two, three and four times its frequency. */
const OVERTONES: readonly number[] = [12, 19, 24];
/** A hole less sure than this doesn't count against the student. */
const SURE_OF_HOLES = 0.6;
/** The beating of a leaking reed in a room may sound like a shake. [rendered students: 0.4 to 0.95] */
const SURE_OF_SHAKE = 0.9;
/** A pitch is still possible when an alternative reading of what was heard is at least this likely. */
const OPEN_PITCH = 0.2;

/** What a reference asks for on the student's own harp. */
export class ExpectedNotes {
  readonly #reference: Reference;
  readonly #shift: number;
  /** All notes of the student's harp. */
  readonly harp: readonly PlayableNote[];
  readonly #tonicMidi: number;
  /**
   * Whether the reference's tab applies to the student: the harp has the same tuning and is transposed by as much as
   * the student plays.
   */
  readonly sameHarp: boolean;

  constructor(reference: Reference, { shift }: Match, harp: readonly PlayableNote[], played: Take['harp']) {
    this.#reference = reference;
    this.#shift = shift;
    this.harp = harp;
    this.#tonicMidi = parseHarpKey(played.key).tonicMidi;
    this.sameHarp =
      reference.harp !== null &&
      reference.harp.tuning === played.tuning &&
      this.#tonicMidi - reference.harp.tonicMidi === shift;
  }

  /** Integer MIDI number that is wanted. */
  midi(b: number): number {
    return this.#reference.notes[b].midi + this.#shift;
  }

  /** The note's tab in the reference; null where that tab does not apply to this harp. */
  tab(b: number): TabNote | null {
    return this.sameHarp ? this.#reference.notes[b].tab : null;
  }

  /** `D5`, spelled in the key of the student's harp. */
  noteName(midi: number): string {
    return noteName(midi, this.#tonicMidi % 12);
  }

  /** `-4 (D5)`; only the note's name where the student's harp has it in several places or not at all. */
  name(b: number): string {
    const midi = this.midi(b);
    const places = this.harp.filter((note) => note.midi === midi && !note.over);
    const tab = this.tab(b) ?? (places.length === 1 ? places[0] : null);
    const name = this.noteName(midi);
    return tab === null ? name : `${holeName(tab)} (${name})`;
  }

  /** A chord as it is wanted on the student's harp, `-4+5`; a single note by its name. */
  chordName(b: number): string {
    const { chord } = this.#reference.notes[b];
    if (chord === undefined) return this.name(b);
    const tab = this.tab(b);
    if (tab !== null) return holeName(tab);
    const lies = this.#chordAt(b);
    if (lies === undefined) return this.noteName(this.midi(b));
    const { breath, holes, bends: holeBends } = lies;
    return holeName({ hole: holes[0], breath, bend: holeBends?.[0] ?? 0, over: false, holes, holeBends });
  }

  /** How many chords of the reference the student's harp can't play in full: only what it has is asked for. */
  get cutChords(): number {
    return this.#reference.notes.filter(
      ({ chord }, b) => chord !== undefined && this.tab(b) === null && this.#chordAt(b)?.lost.length !== 0,
    ).length;
  }

  /** The holes of a wanted chord on the student's harp. */
  #chordAt(b: number): ChordOnHarp | undefined {
    const { chord = [] } = this.#reference.notes[b];
    return chordOnHarp(
      chord.map((midi) => midi + this.#shift),
      this.harp,
    )[0];
  }

  /** The wanted pitches that the student's harp has; ascending, as written. */
  #wanted(b: number): ReferenceNote {
    const wanted = this.#reference.notes[b];
    if (wanted.chord === undefined || this.tab(b) !== null) return wanted;
    const lies = this.#chordAt(b);
    return { ...wanted, chord: lies?.midis.map((midi) => midi - this.#shift) ?? [wanted.midi] };
  }

  /** The hole whose unbent reed has a pitch in the breath of a note. */
  #holeOf(midi: number, { breath }: TakeNote): number | null {
    const reed = this.harp.find(
      (note) => note.midi === midi && note.breath === breath && note.bend === 0 && !note.over,
    );
    return reed?.hole ?? null;
  }

  /** How a student's note fits the note that it stands for. @param midis  all that it sounds, ascending */
  fit(note: TakeNote, midis: readonly number[], b: number): Fit {
    const wanted = this.#reference.notes[b];
    if (midis.length > 1 || wanted.chord !== undefined) return this.#fitSeveral(note, midis, b);
    const apart = nominalMidi(this.harp, note) - this.midi(b);
    const cents = 100 * apart + note.cents;
    const target = this.#targetOnReed(note, b);
    const bend = target !== null && (target.bend > 0 || target.over) ? target : null;
    const alike = (other: TakeNote['alternatives'][number]): boolean =>
      other.confidence >= OPEN_PITCH && nominalMidi(this.harp, { ...other, midi: -1 }) === this.midi(b);
    const nearly = bend !== null && apart !== 0 && Math.abs(cents) <= ANOTHER_NOTE_CENTS && !isPlain(note);
    const open = apart !== 0 && !nearly && note.alternatives.some(alike);
    const tab = this.tab(b);
    return {
      apart,
      cents,
      bend: open ? null : bend,
      right: apart === 0 || nearly || open,
      elsewhere: apart === 0 && tab !== null && isElsewhere(note, tab) ? tab : null,
      missing: [],
      extra: [],
      shake: null,
    };
  }

  /** The same, where several holes sound or should. */
  #fitSeveral(note: TakeNote, midis: readonly number[], b: number): Fit {
    const wanted = this.#wanted(b);
    const { common, missing, extra } = compareSounds(midis, wanted, this.#shift);
    const named = (each: readonly number[]): string[] =>
      each.map((midi) => {
        const hole = this.#holeOf(midi, note);
        return hole === null ? this.noteName(midi) : `hole ${hole}`;
      });
    const shares = common.length > 0;
    // The overtone of one note may have been heard as a second hole.
    const isOvertone = (midi: number): boolean =>
      wanted.chord === undefined && OVERTONES.includes(midi - this.midi(b));
    const told = note.confidence >= SURE_OF_HOLES ? extra.filter((midi) => !isOvertone(midi)) : [];
    const shake = shares ? shakeMissed(note, wanted) : null;
    if (shake !== null) {
      const right = shake === 'shaken';
      return {
        apart: 0,
        cents: note.cents,
        bend: null,
        right,
        elsewhere: null,
        missing: [],
        extra: [],
        shake,
      };
    }
    return {
      apart: shares ? 0 : midis[midis.length - 1] - this.midi(b),
      cents: note.cents,
      bend: null,
      right: shares && missing.length === 0,
      elsewhere: null,
      missing: shares ? named(missing) : [],
      extra: shares ? named(told) : [],
      shake: null,
    };
  }

  /** The wanted pitch on the reed that the student used, or null when that reed can't give it. */
  #targetOnReed(note: TakeNote, b: number): TabNote | null {
    const midi = this.midi(b);
    const there = this.harp.find((playable) => playable.midi === midi && sameReed(playable, note));
    if (there !== undefined) return there;
    const tab = this.tab(b);
    if (tab === null) return null;
    const misread = note.bend === 0 && !note.over && Math.abs(note.cents) >= FAR_FOR_A_REED_CENTS;
    return sameReed(tab, note) || misread ? tab : null;
  }
}

/** How a note that shares a hole with the wanted shake missed it; null unless sure. */
function shakeMissed(note: TakeNote, wanted: ReferenceNote): Fit['shake'] {
  const shaken = note.shake === true;
  const isWanted = wanted.tab?.shake === true;
  if (shaken === isWanted || note.confidence < (shaken ? SURE_OF_SHAKE : SURE_OF_HOLES)) return null;
  if (shaken) return wanted.chord === undefined ? 'shaken' : null;
  return note.holes === undefined ? 'plain' : 'together';
}

/** A plain reed in tune: no bend was tried. */
const isPlain = ({ bend, over, cents }: TakeNote): boolean =>
  bend === 0 && !over && Math.abs(cents) < FAR_FOR_A_REED_CENTS;

/** Whether a note was surely played on another reed than asked for: 2 draw and 3 blow can't always be told apart. */
function isElsewhere(note: TakeNote, wanted: TabNote): boolean {
  if (sameReed(note, wanted)) return false;
  const asWanted = note.alternatives.find((other) => sameReed(other, wanted) && other.bend === wanted.bend);
  return (asWanted?.confidence ?? 0) < MOST_DOUBT;
}
