import { parseHarpKey } from '../harp/keys.ts';
import type { CustomHarp } from '../harp/playable.ts';
import type { PlayableNote } from '../harp/types.ts';
import { median } from '../statistics.ts';
import type { TabNote } from '../tab/tab-note.ts';
import type { Take } from '../take/schema.ts';
import type { Finding, FindingKind, Tolerances } from './finding.ts';
import { type Match, matchNotes, type PlayedNote, sameReed } from './match.ts';
import { nominalMidi, type Reference, takeHarp } from './reference.ts';
import { latenessOf, summariseTempo, type TempoSummary } from './timing.ts';
import { counted, holeName, intervalInWords, noteName, placeInWords, seconds } from './words.ts';

type TakeNote = Take['notes'][number];

/** A note of the student's with what it stands for. */
export interface JudgedNote {
  readonly note: TakeNote;
  /** Place in the reference; null for an added note. */
  readonly referenceIndex: number | null;
  /** Right pitch in the right place. */
  readonly right: boolean;
  /** Whether it is, or should have been, a bend; and its cents against that target. */
  readonly bend: boolean;
  readonly cents: number;
  /** Seconds against the student's own tempo; null when it can't be told. */
  readonly lateSec: number | null;
}

/** A take held against a reference. */
export interface Judgement extends TempoSummary {
  readonly findings: readonly Finding[];
  readonly notes: readonly JudgedNote[];
  readonly match: Match;
  /** Notes of the reference that were not played. */
  readonly missed: number;
  /** Plain sentences about the take as a whole. */
  readonly remarks: readonly string[];
}

/** A bend off by more than this has become another note. */
const ANOTHER_NOTE_CENTS = 75;
/** A fault that the reference has too is one of the student's only when it is worse by so much. */
const WORSE_CENTS = 10;
const WORSE_DB = 3;
/** A note that is likelier not to have been played at all is not held against anyone. */
const LEAST_SURE = 0.4;
/** Another hole for the same pitch is said only when the one asked for is less likely than this. */
const MOST_DOUBT = 0.15;
/** Harmonics this little above the noise are breathy, if the rest of the take is so much clearer. */
const BREATHY_DB = 6;
const CLEARER_DB = 9;
/** For how much of a note a second reed must sound to be a fault. */
const LEAK_SHARE = 0.5;
/** Holds a student's take against a reference. */
export function judge(
  take: Take,
  reference: Reference,
  tolerances: Tolerances,
  custom: CustomHarp = {},
): Judgement {
  const harp = takeHarp(take, custom);
  const notes = take.notes.filter((note) => note.confidence >= LEAST_SURE);
  const played = notes.map(
    (note): PlayedNote => ({ onsetSec: note.onsetSec, midi: nominalMidi(harp, note), tab: note }),
  );
  const match = matchNotes(played, reference);
  const judge = new Judge(take, notes, played, harp, reference, match, tolerances);
  return judge.run();
}

class Judge {
  readonly #take: Take;
  readonly #notes: readonly TakeNote[];
  readonly #played: readonly PlayedNote[];
  readonly #harp: readonly PlayableNote[];
  readonly #reference: Reference;
  readonly #match: Match;
  readonly #tolerances: Tolerances;
  readonly #sameHarp: boolean;
  readonly #findings: Finding[] = [];
  readonly #judged: JudgedNote[] = [];
  #missed = 0;

  constructor(
    take: Take,
    notes: readonly TakeNote[],
    played: readonly PlayedNote[],
    harp: readonly PlayableNote[],
    reference: Reference,
    match: Match,
    tolerances: Tolerances,
  ) {
    this.#take = take;
    this.#notes = notes;
    this.#played = played;
    this.#harp = harp;
    this.#reference = reference;
    this.#match = match;
    this.#tolerances = tolerances;
    this.#sameHarp =
      reference.harp !== null &&
      reference.harp.tuning === take.harp.tuning &&
      parseHarpKey(take.harp.key).tonicMidi - reference.harp.tonicMidi === match.shift;
  }

  run(): Judgement {
    const { timeSec } = this.#tolerances;
    const late = latenessOf(this.#match.tempo, this.#reference, timeSec);
    let a = 0;
    let back: { from: number; to: number } | null = null;
    for (const step of this.#match.steps) {
      if (step.kind === 'back') back = { from: step.fromB, to: step.toB };
      if (step.kind === 'missed') this.#miss(step.b, a);
      if (step.kind === 'added') {
        this.#add(step.a);
        a = step.a + 1;
      }
      if (step.kind === 'pair') {
        if (back !== null) this.#restart(back, step.a, step.b);
        back = null;
        this.#pair(step.a, step.b, late.get(step.a) ?? null);
        a = step.a + 1;
      }
    }
    const findings = this.#findings.toSorted((x, y) => x.timeSec - y.timeSec);
    return {
      findings,
      notes: this.#judged,
      match: this.#match,
      missed: this.#missed,
      ...summariseTempo(
        this.#match.tempo,
        this.#judged.flatMap(({ lateSec }) => (lateSec === null ? [] : [lateSec])),
      ),
      remarks: this.#remarks(),
    };
  }

  #say(
    kind: FindingKind,
    {
      timeSec,
      note,
      b,
      value,
    }: { timeSec: number; note: TakeNote | null; b: number | null; value: number | null },
    message: string,
  ): void {
    this.#findings.push({ kind, timeSec, noteId: note?.id ?? null, referenceIndex: b, message, value });
  }

  /** Where a note of the reference lies on the student's harp: as its tab says on a harp of the same kind, or anywhere. */
  #wantedTab(b: number): TabNote | null {
    return this.#sameHarp ? this.#reference.notes[b].tab : null;
  }

  #wantedName(b: number): string {
    const tab = this.#wantedTab(b);
    const name = noteName(this.#reference.notes[b].midi + this.#match.shift);
    return tab === null ? name : `${holeName(tab)} (${name})`;
  }

  #pair(a: number, b: number, lateSec: number | null): void {
    const note = this.#notes[a];
    const wanted = this.#reference.notes[b];
    const apart = this.#played[a].midi - wanted.midi - this.#match.shift;
    const tab = this.#wantedTab(b);
    const target = this.#targetOnReed(note, wanted.midi + this.#match.shift, tab);
    const cents = 100 * apart + note.cents;
    const place = placeInWords(wanted);
    const about = { timeSec: note.onsetSec, note, b };
    const bend = (target?.bend ?? 0) > 0;
    const nearly = bend && apart !== 0 && Math.abs(cents) <= ANOTHER_NOTE_CENTS;
    const right = apart === 0 || nearly;
    if (!right) {
      const octave = apart % 12 === 0;
      this.#say(
        octave ? 'octave' : 'wrong-note',
        { ...about, value: apart },
        `in ${place} you played ${holeName(note)} (${noteName(this.#played[a].midi)}) instead of ${this.#wantedName(b)}, ${intervalInWords(apart)}`,
      );
    } else if (bend) {
      this.#bend(note, target!, cents, b);
    }
    const elsewhere = apart === 0 && tab !== null && isElsewhere(note, tab);
    if (elsewhere) {
      this.#say(
        'same-pitch-other-hole',
        { ...about, value: null },
        `in ${place} you played ${holeName(note)} for ${holeName(tab)}: the right pitch from another hole`,
      );
    }
    this.#timed(note, b, lateSec);
    this.#clean(note, b);
    const judgedRight = right && !(this.#tolerances.strict && elsewhere);
    this.#judged.push({ note, referenceIndex: b, right: judgedRight, bend: bend && right, cents, lateSec });
  }

  /** The wanted pitch on the reed that the student used, or null when that reed can't give it. */
  #targetOnReed(note: TakeNote, midi: number, tab: TabNote | null): TabNote | null {
    const there = this.#harp.find((playable) => playable.midi === midi && sameReed(playable, note));
    return there ?? (tab !== null && sameReed(tab, note) ? tab : null);
  }

  #bend(note: TakeNote, target: TabNote, cents: number, b: number): void {
    // Too short to judge: said nothing about.
    if (note.intonation === null || Math.abs(cents) <= this.#tolerances.bendCents) return;
    const there = this.#reference.notes[b].played?.cents ?? 0;
    const reference = Math.sign(there) === Math.sign(cents) ? Math.abs(there) : 0;
    if (reference > this.#tolerances.bendCents && Math.abs(cents) < reference + WORSE_CENTS) return;
    const depth = 100 * target.bend;
    const reached = Math.max(0, Math.round(depth - cents));
    const place = placeInWords(this.#reference.notes[b]);
    const about = { timeSec: note.onsetSec, note, b, value: cents };
    if (cents > 0) {
      this.#say(
        'bend-short',
        about,
        `the bend ${holeName(target)} in ${place} is short by ${Math.round(cents)}: it goes down ${reached} of ${depth} cents`,
      );
    } else {
      this.#say(
        'bend-sharp',
        about,
        `the bend ${holeName(target)} in ${place} goes ${Math.round(-cents)} cents too deep: ${reached} instead of ${depth} cents`,
      );
    }
  }

  #timed(note: TakeNote, b: number, lateSec: number | null): void {
    if (lateSec === null || Math.abs(lateSec) < this.#tolerances.timeSec) return;
    const place = placeInWords(this.#reference.notes[b]);
    const kind = lateSec > 0 ? 'late' : 'early';
    this.#say(
      kind,
      { timeSec: note.onsetSec, note, b, value: lateSec },
      `${holeName(note)} in ${place} comes ${seconds(lateSec)} ${kind}`,
    );
  }

  #clean(note: TakeNote, b: number | null): void {
    const { leak } = note;
    const place = b === null ? '' : ` in ${placeInWords(this.#reference.notes[b])}`;
    const about = { timeSec: note.onsetSec, note, b };
    const there = b === null ? undefined : this.#reference.notes[b].played;
    const leaksToo =
      there !== undefined &&
      leaks(there, this.#tolerances) &&
      (leak?.levelDb ?? 0) < (there.leak?.levelDb ?? 0) + WORSE_DB;
    if (leak !== null && leaks(note, this.#tolerances) && !leaksToo) {
      this.#say(
        'second-reed',
        { ...about, value: leak.levelDb },
        `hole ${leak.hole} sounds along with ${holeName(note)}${place}, ${Math.round(-leak.levelDb)} dB below it`,
      );
    }
    const usual = this.#usualHarmonicity;
    if (
      note.harmonicityDb < BREATHY_DB &&
      note.harmonicityDb < usual - CLEARER_DB &&
      !(there !== undefined && there.harmonicityDb < note.harmonicityDb + WORSE_DB) &&
      note.intonation !== null
    ) {
      this.#say(
        'breath-noise',
        { ...about, value: note.harmonicityDb },
        `${holeName(note)}${place} is breathy: its tone is ${Math.round(note.harmonicityDb)} dB above the noise, your other notes ${Math.round(usual)}`,
      );
    }
  }

  get #usualHarmonicity(): number {
    return median(this.#notes.map(({ harmonicityDb }) => harmonicityDb));
  }

  #miss(b: number, a: number): void {
    this.#missed++;
    const wanted = this.#reference.notes[b];
    const around = this.#notes[Math.min(a, this.#notes.length - 1)]?.onsetSec ?? 0;
    const timeSec = Math.max(0, this.#match.tempo.secOf(wanted.onset, a) ?? around);
    this.#say(
      'missed',
      { timeSec, note: null, b, value: null },
      `${this.#wantedName(b)} in ${placeInWords(wanted)} is missing`,
    );
  }

  #add(a: number): void {
    const note = this.#notes[a];
    this.#say(
      'added',
      { timeSec: note.onsetSec, note, b: null, value: null },
      `${holeName(note)} (${noteName(this.#played[a].midi)}) is one note too many`,
    );
    this.#clean(note, null);
    this.#judged.push({
      note,
      referenceIndex: null,
      right: false,
      bend: false,
      cents: note.cents,
      lateSec: null,
    });
  }

  #restart({ from, to }: { from: number; to: number }, a: number, b: number): void {
    const note = this.#notes[a];
    this.#say(
      'restart',
      { timeSec: note.onsetSec, note, b, value: from - to },
      `here you went back ${counted(from - to, 'note')} and started again from ${placeInWords(this.#reference.notes[to])}`,
    );
  }

  #remarks(): string[] {
    const { shift } = this.#match;
    const remarks: string[] = [];
    if (shift !== 0) {
      const how = this.#sameHarp
        ? `on ${/^[AEF]/.test(this.#take.harp.key) ? 'an' : 'a'} ${this.#take.harp.key} harp, `
        : '';
      remarks.push(`played ${how}${intervalInWords(shift)} the reference throughout: judged as transposed`);
    }
    if (!this.#reference.timed) remarks.push('the reference names no lengths: timing is not judged');
    const { bends, harp } = { bends: this.#judged.some(({ bend }) => bend), harp: this.#take.harp };
    if (bends)
      remarks.push(`bends are judged on A4 = ${harp.a4Hz.toFixed(1)} Hz, ${harp.temperament} temperament`);
    return remarks;
  }
}

/** Whether a second reed slipped into a note, loud enough and for long enough to be a fault. */
export function leaks({ leak }: Pick<TakeNote, 'leak'>, { leakDb }: Tolerances): boolean {
  if (leak === null || (leak.kind ?? 'leak') !== 'leak') return false;
  return leak.levelDb >= leakDb && (leak.share ?? 1) >= LEAK_SHARE;
}

/** Whether a note was surely played on another reed than asked for: 2 draw and 3 blow can't always be told apart. */
function isElsewhere(note: TakeNote, wanted: TabNote): boolean {
  if (sameReed(note, wanted)) return false;
  const asWanted = note.alternatives.find((other) => sameReed(other, wanted) && other.bend === wanted.bend);
  return (asWanted?.confidence ?? 0) < MOST_DOUBT;
}
