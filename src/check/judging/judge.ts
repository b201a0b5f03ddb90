import type { CustomHarp, PlayableNote } from '../../harp/types.ts';
import type { TabNote } from '../../tab/tab-note.ts';
import type { Take } from '../../take/schema.ts';
import { ExpectedNotes } from '../align/expected.ts';
import { findFaint } from '../align/faint.ts';
import { findHeldThrough, type HeldThrough } from '../align/held-through.ts';
import { type Match, matchNotes } from '../align/match.ts';
import { type PlayedNote, playedOf } from '../align/played.ts';
import { type Reference, takeHarp } from '../align/reference.ts';
import { Beginnings, findSplitNotes, goesOnAsShake, joinSplitNotes } from '../align/split-notes.ts';
import { isPartOf, isSureOfPitch, usableNotes } from '../align/usable-notes.ts';
import type { Finding, Remark, Tolerances } from '../finding.ts';
import { holeName } from '../words.ts';
import { bendRemark } from './bend-remark.ts';
import { cleanRemarks, usualHarmonicity } from './clean.ts';
import { type LevelOfPhrase, levelRemark, levelsOf } from './level.ts';
import { isOtherTune, remarksOn } from './remarks.ts';
import {
  extraHole,
  extraNote,
  missedNote,
  missingHole,
  offTime,
  otherHole,
  restart,
  shakeNote,
  wrongNote,
} from './say.ts';
import { latenessOf, summariseTempo, type TempoSummary } from './timing.ts';
import { unmeasuredRemarks } from './unmeasured.ts';

type TakeNote = Take['notes'][number];

/** A student's note and what it matches. */
export interface JudgedNote {
  readonly note: TakeNote;
  /** Place in the reference; null for an extra note. */
  readonly referenceIndex: number | null;
  /** Right pitch in the right place. */
  readonly right: boolean;
  /** Whether it is, or should have been, a bend, and how many cents it is from that target. */
  readonly bend: boolean;
  /** That target; null when the note is not a bend. */
  readonly target: TabNote | null;
  readonly cents: number;
  /** Seconds relative to the student's own tempo, positive when late; null when unknown. */
  readonly lateSec: number | null;
}

/** A take compared with a reference. */
export interface Judgement extends TempoSummary {
  readonly findings: readonly Finding[];
  readonly notes: readonly JudgedNote[];
  readonly match: Match;
  /** Notes of the reference that were not played. */
  readonly missed: number;
  /** How even the level is, phrase by phrase. */
  readonly levels: readonly LevelOfPhrase[];
  /** Whether another tune was probably played. */
  readonly otherTune: boolean;
  /** Plain sentences about the take as a whole; for another tune, only that it is one. */
  readonly remarks: readonly string[];
}

/** Compares a student's take with a reference. @param known  the take aligned with it, where that was done */
export function judge(
  take: Take,
  reference: Reference,
  tolerances: Tolerances,
  custom: CustomHarp = {},
  known: Match | null = null,
): Judgement {
  const harp = takeHarp(take, custom);
  const { heard, onlyFor } = heardOf(take, reference, harp);
  const alike = onlyFor.size === 0 ? known : null;
  const first = alike ?? matchNotes(playedOf(heard, harp, onlyFor), reference);
  const cut = findSplitNotes(first, heard, reference);
  const notes = joinSplitNotes(heard, cut);
  const played = playedOf(notes, harp, onlyFor);
  const match = cut.size === 0 ? first : matchNotes(played, reference);
  const faint = findFaint(match, played, take, reference);
  const expected = new ExpectedNotes(reference, match, harp, take.harp);
  const openSec = [...cut]
    .filter((a) => !goesOnAsShake(heard[a - 1], heard[a]))
    .map((a) => heard[a].onsetSec);
  return new Judge(take, notes, openSec, played, reference, match, faint, expected, tolerances).run();
}

/**
 * The notes that are judged: those that can count against a student, and of the others those that match a note of the
 * reference. @returns `onlyFor` the ids of the others
 */
function heardOf(
  take: Take,
  reference: Reference,
  harp: readonly PlayableNote[],
): { heard: readonly TakeNote[]; onlyFor: ReadonlySet<string> } {
  const usable = new Set(usableNotes(take, reference, harp));
  const onlyFor = new Set(take.notes.filter((note) => !usable.has(note)).map(({ id }) => id));
  if (onlyFor.size === 0) return { heard: take.notes, onlyFor };
  const isPart = (note: TakeNote, i: number): boolean =>
    !usable.has(note) && isPartOf(note, [take.notes[i - 1], take.notes[i + 1]], harp);
  const notes = take.notes.filter((note, i) => !isPart(note, i));
  const { steps } = matchNotes(playedOf(notes, harp, onlyFor), reference);
  const paired = new Set(steps.flatMap((step) => (step.kind === 'pair' ? [step.a] : [])));
  return { heard: notes.filter((note, a) => usable.has(note) || paired.has(a)), onlyFor };
}

/** Goes through a match step by step and collects the findings. */
class Judge {
  readonly #take: Take;
  readonly #notes: readonly TakeNote[];
  /** Times at which a note may have been tongued twice: the recording leaves it open. */
  readonly #openSec: readonly number[];
  readonly #beginnings: Beginnings;
  readonly #played: readonly PlayedNote[];
  readonly #reference: Reference;
  readonly #match: Match;
  readonly #expected: ExpectedNotes;
  readonly #tolerances: Tolerances;
  readonly #usualDb: number;
  readonly #heldThrough: HeldThrough;
  /** Places in the reference of notes that the recording shows too faintly to be judged. */
  readonly #faint: Set<number>;
  readonly #findings: Finding[] = [];
  readonly #judged: JudgedNote[] = [];
  #missed = 0;

  constructor(
    take: Take,
    notes: readonly TakeNote[],
    openSec: readonly number[],
    played: readonly PlayedNote[],
    reference: Reference,
    match: Match,
    faint: ReadonlySet<number>,
    expected: ExpectedNotes,
    tolerances: Tolerances,
  ) {
    this.#take = take;
    this.#notes = notes;
    this.#openSec = openSec;
    this.#beginnings = new Beginnings(notes);
    this.#played = played;
    this.#reference = reference;
    this.#match = match;
    this.#faint = new Set(faint);
    this.#expected = expected;
    this.#tolerances = tolerances;
    this.#usualDb = usualHarmonicity(notes);
    this.#heldThrough = findHeldThrough(match, notes, reference);
  }

  run(): Judgement {
    const { steps, tempo } = this.#match;
    const late = latenessOf(tempo, this.#reference, this.#tolerances.timeSec);
    let a = 0;
    let back: { from: number; to: number } | null = null;
    for (const step of steps) {
      if (step.kind === 'back') back = { from: step.fromB, to: step.toB };
      if (step.kind === 'missed') this.#miss(step.b, a);
      if (step.kind === 'added') {
        this.#add(step.a);
        a = step.a + 1;
      }
      if (step.kind === 'pair') {
        if (back !== null) this.#restart(back, step.a, step.b);
        back = null;
        this.#pair(step.a, step.b, this.#timeTold(step.a, late.get(step.a) ?? null));
        a = step.a + 1;
      }
    }
    const levels = levelsOf(this.#take);
    const offs = this.#judged.flatMap(({ lateSec }) => (lateSec === null ? [] : [lateSec]));
    const right = this.#judged.filter((note) => note.right).length;
    const otherTune = isOtherTune(right, this.#reference);
    return {
      findings: this.#findings.toSorted((x, y) => x.timeSec - y.timeSec),
      notes: this.#judged,
      match: this.#match,
      missed: this.#missed,
      ...summariseTempo(tempo, offs),
      levels,
      otherTune,
      remarks: [
        ...remarksOn({
          take: this.#take,
          reference: this.#reference,
          match: this.#match,
          expected: this.#expected,
          right,
          otherTune,
          bends: this.#judged.some(({ bend }) => bend),
          heldThrough: this.#heldThrough,
          faint: this.#faint,
          openSec: this.#openSec,
        }),
        ...(otherTune ? [] : [...levelRemark(levels), ...unmeasuredRemarks(this.#take.notes)]),
      ],
    };
  }

  /** A repeat heard too soon, in a room that may have cut the note before it, may have begun later. */
  #timeTold(a: number, lateSec: number | null): number | null {
    if (lateSec === null || lateSec > -this.#tolerances.timeSec) return lateSec;
    return this.#beginnings.isOpen(this.#notes[a - 1], this.#notes[a]) ? null : lateSec;
  }

  #say(remark: Remark, timeSec: number, note: TakeNote | null, b: number | null): void {
    this.#findings.push({ ...remark, timeSec, noteId: note?.id ?? null, referenceIndex: b });
  }

  #pair(a: number, b: number, lateSec: number | null): void {
    const note = this.#notes[a];
    const wanted = this.#reference.notes[b];
    if (!isSureOfPitch(note, this.#expected.harp)) {
      this.#faint.add(b);
      this.#judged.push({
        note,
        referenceIndex: b,
        right: true,
        bend: false,
        target: null,
        cents: note.cents,
        lateSec: null,
      });
      return;
    }
    const { apart, cents, bend, right, elsewhere, missing, extra, shake } = this.#expected.fit(
      note,
      this.#played[a].midis,
      b,
    );
    const say = (remark: Remark): void => this.#say(remark, note.onsetSec, note, b);
    const chord = this.#expected.chordName(b);
    for (const hole of missing) say(missingHole(hole, chord, wanted));
    for (const hole of extra) say(extraHole(hole, chord, wanted));
    if (shake !== null) {
      say(shakeNote(shake, holeName(note), chord, wanted));
    } else if (!right && missing.length === 0) {
      say(wrongNote(apart, this.#nameOf(a), this.#expected.chordName(b), wanted));
    } else if (bend !== null) {
      const remark = bendRemark(note, bend, cents, wanted, this.#tolerances);
      if (remark !== null) say(remark);
    }
    if (elsewhere !== null) say(otherHole(note, elsewhere, wanted));
    if (lateSec !== null && Math.abs(lateSec) >= this.#tolerances.timeSec)
      say(offTime(note, lateSec, wanted));
    for (const remark of cleanRemarks(note, wanted, this.#usualDb, this.#tolerances, this.#notes[a - 1]))
      say(remark);
    this.#judged.push({
      note,
      referenceIndex: b,
      right: right && !(this.#tolerances.strict && elsewhere !== null),
      bend: bend !== null && right,
      target: right ? bend : null,
      cents,
      lateSec,
    });
  }

  /** `-4 (D5)`, `4+5 (C5+E5)` */
  #nameOf(a: number): string {
    const names = this.#played[a].midis.map((midi) => this.#expected.noteName(midi));
    return `${holeName(this.#notes[a])} (${names.join('+')})`;
  }

  #miss(b: number, a: number): void {
    if (this.#faint.has(b)) return;
    const heldThrough = this.#heldThrough.places.has(b);
    if (heldThrough && !this.#heldThrough.told) return;
    this.#missed++;
    const wanted = this.#reference.notes[b];
    const around = this.#notes[Math.min(a, this.#notes.length - 1)]?.onsetSec ?? 0;
    const timeSec = Math.max(0, this.#match.tempo.secOf(wanted.onset, a) ?? around);
    this.#say(missedNote(this.#expected.chordName(b), heldThrough, wanted), timeSec, null, b);
  }

  #add(a: number): void {
    const note = this.#notes[a];
    this.#say(extraNote(this.#nameOf(a)), note.onsetSec, note, null);
    for (const remark of cleanRemarks(note, null, this.#usualDb, this.#tolerances, this.#notes[a - 1])) {
      this.#say(remark, note.onsetSec, note, null);
    }
    this.#judged.push({
      note,
      referenceIndex: null,
      right: false,
      bend: false,
      target: null,
      cents: note.cents,
      lateSec: null,
    });
  }

  #restart({ from, to }: { from: number; to: number }, a: number, b: number): void {
    const note = this.#notes[a];
    this.#say(restart(from - to, this.#reference.notes[to]), note.onsetSec, note, b);
  }
}
