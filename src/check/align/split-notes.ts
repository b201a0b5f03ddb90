import type { Take } from '../../take/schema.ts';
import type { Match } from './match.ts';
import { sameReed } from './pitch-costs.ts';
import type { Reference } from './reference.ts';

type TakeNote = Take['notes'][number];

/**
 * How often one long note is heard as two in a live room, where it beats with its own echo. [5 of 1038 and 6 of 1031
 * notes in rooms, none of 3114 dry ones; rendered students of two seeds]
 */
const CUT_IN_ROOM = 0.006;
const CUT_DRY = 0.0003;
/** How often a student tongues a note once too often. [assumed: a tenth of the notes that students add] */
const TONGUED_AGAIN = 0.002;
/**
 * Share of notes begun by breath or tongue before which the sound had died away (by 15 dB), so that a rise in level can
 * be seen: in dry recordings, and in rooms. [the same students: 0.43 to 0.86 and 0.05 to 0.26]
 */
const RISES_DRY = 0.6;
const RISES_IN_ROOM = 0.2;
/** The beating of a room almost never makes the sound die away. */
const RISES_WHEN_CUT = 0.05;
/**
 * Share of tongued repeats that are heard as one long note in rooms, and share of repeats that students hold through.
 * [see held-through.ts]
 */
const HIDDEN_IN_ROOM = 0.2;
const HELD_THROUGH = 0.02;
/** Both parts together may be longer than the one wanted note by this share of it, or by this many seconds. */
const LONGER_SHARE = 0.25;
const LONGER_SEC = 0.12;
const SILENT_GAP_SEC = 0.03;
/** The recording leaves open whatever is at least this likely. */
const OPEN_FROM = 0.5;

/** What the recording shows of how repeated notes begin. */
export class Beginnings {
  readonly #inRoom: number;

  constructor(notes: readonly TakeNote[]) {
    let logOdds = 0;
    let measured = 0;
    for (const note of notes) {
      if (note.tone === undefined || (note.start !== 'tongue' && note.start !== 'breath')) continue;
      measured++;
      logOdds += rises(note)
        ? Math.log(RISES_IN_ROOM / RISES_DRY)
        : Math.log((1 - RISES_IN_ROOM) / (1 - RISES_DRY));
    }
    // Without signs of a room, there is no room to excuse anything.
    this.#inRoom = measured === 0 ? 0 : 1 / (1 + Math.exp(-logOdds));
  }

  /** Whether the recording was made in a live room, which hides many repeats. */
  get hidesRepeats(): boolean {
    const hidden = this.#inRoom * HIDDEN_IN_ROOM;
    return hidden / (hidden + HELD_THROUGH) >= OPEN_FROM;
  }

  /** How likely it is that `note` only continues with the one before, which has the same hole, [0, 1]; 0 when it was not measured. */
  goesOn(note: TakeNote): number {
    if (note.start !== 'tongue' || note.tone === undefined) return 0;
    const inRoom = this.#inRoom;
    const mix = (room: number, dry: number): number => inRoom * room + (1 - inRoom) * dry;
    const risesAnew = mix(RISES_IN_ROOM, RISES_DRY);
    const cut = mix(CUT_IN_ROOM, CUT_DRY) * (rises(note) ? RISES_WHEN_CUT : 1 - RISES_WHEN_CUT);
    const anew = TONGUED_AGAIN * (rises(note) ? risesAnew : 1 - risesAnew);
    return cut / (cut + anew);
  }

  /** Whether the recording leaves open if this note was struck at all, so that its time can't be judged either. */
  isOpen(before: TakeNote | undefined, note: TakeNote): boolean {
    return before !== undefined && touches(before, note) && this.goesOn(note) >= OPEN_FROM;
  }
}

const rises = ({ tone }: TakeNote): boolean => tone?.attackSec != null;

function touches(before: TakeNote, note: TakeNote): boolean {
  return (
    sameReed(before, note) && before.bend === note.bend && note.onsetSec - before.offsetSec <= SILENT_GAP_SEC
  );
}

/**
 * Whether a note turns into a shake of its own hole, or a shake into one of its notes: both are one note of the tune.
 */
export function goesOnAsShake(first: TakeNote, second: TakeNote): boolean {
  if (first.breath !== second.breath || second.onsetSec - first.offsetSec > SILENT_GAP_SEC) return false;
  const holesOf = (note: TakeNote): readonly number[] => note.holes ?? [note.hole];
  return (
    (first.shake === true || second.shake === true) &&
    holesOf(first).some((hole) => holesOf(second).includes(hole))
  );
}

/**
 * Extra notes that are more likely the second part of the note before them, or the first part of the note after them:
 * one hole (or a shake of it), no gap, no rise in level, and together no longer than the one note that the reference
 * has there.
 * @returns place in the take of each second part
 */
export function findSplitNotes(match: Match, notes: readonly TakeNote[], reference: Reference): Set<number> {
  const beginnings = new Beginnings(notes);
  const standsFor = new Map<number, number>();
  for (const step of match.steps) if (step.kind === 'pair') standsFor.set(step.a, step.b);
  const cut = new Set<number>();
  for (const step of match.steps) {
    if (step.kind !== 'added') continue;
    for (const second of [step.a, step.a + 1]) {
      const first = second - 1;
      const b = standsFor.get(second === step.a ? first : second);
      if (b === undefined || cut.has(first) || cut.has(second)) continue;
      if (!beginnings.isOpen(notes[first], notes[second]) && !goesOnAsShake(notes[first], notes[second]))
        continue;
      if (fits(notes[first], notes[second], first, b, match, reference)) cut.add(second);
    }
  }
  return cut;
}

/** Whether two parts fit into the time of one note of the reference; true if it gives no lengths. */
function fits(
  first: TakeNote,
  second: TakeNote,
  a: number,
  b: number,
  { tempo }: Match,
  { notes, timed }: Reference,
): boolean {
  if (!timed) return true;
  const { onset, length } = notes[b];
  const fromSec = tempo.secOf(onset, a);
  const toSec = tempo.secOf(onset + length, a);
  if (fromSec === null || toSec === null) return false;
  const roomSec = Math.max(LONGER_SEC, LONGER_SHARE * (toSec - fromSec));
  return Math.abs(first.onsetSec - fromSec) <= roomSec && second.offsetSec <= toSec + roomSec;
}

/** The notes with each second part joined to its first; the longer part's measures are kept. */
export function joinSplitNotes(notes: readonly TakeNote[], cut: ReadonlySet<number>): TakeNote[] {
  const joined: TakeNote[] = [];
  notes.forEach((note, a) => {
    const first = joined[joined.length - 1];
    if (!cut.has(a)) joined.push(note);
    else joined[joined.length - 1] = together(first, note);
  });
  return joined;
}

function together(first: TakeNote, second: TakeNote): TakeNote {
  const longer = second.offsetSec - second.onsetSec > first.offsetSec - first.onsetSec ? second : first;
  const { id, onsetSec, start, tone } = first;
  return {
    ...longer,
    id,
    onsetSec,
    offsetSec: second.offsetSec,
    start,
    ...(tone === undefined ? {} : { tone }),
  };
}
