import { findPlayable, playableNotes } from '../../harp/playable.ts';
import type { CustomHarp, PlayableNote } from '../../harp/types.ts';
import { ACCEPTED, CORRECTED, DOUBTFUL, isSettled, MAYBE_TWO, UNMEASURED } from '../../tab/flags.ts';
import type { Note } from '../../tab/note.ts';
import { type Ornamented, type OrnamentKind, ornamentsOf, withOrnaments } from '../../tab/ornament.ts';
import { sameWritten, type TabNote, tabOf } from '../../tab/tab-note.ts';
import { centsBetween, hzToMidi } from '../../units.ts';
import { roomFor } from '../left-out.ts';
import type { Take } from '../schema.ts';
import type { EditAction } from './action.ts';

/** No edit makes a note shorter than this; decoded notes are never shorter either. */
export const SHORTEST_NOTE_SEC = 0.03;
/** Notes closer than this touch. */
const TOUCHING_SEC = 0.005;
/** Times in a take are kept to the tenth of a millisecond. */
const TIME_STEPS_PER_SEC = 10_000;

type TakeNote = Take['notes'][number];

/** A time as a take keeps it. */
export const roundSec = (sec: number): number => Math.round(sec * TIME_STEPS_PER_SEC) / TIME_STEPS_PER_SEC;

/** The take with some notes changed; the same when none is. */
export function mapNotes(take: Take, ids: ReadonlySet<string>, change: (note: TakeNote) => Note): Take {
  let changed = false;
  const notes = take.notes.map((note) => {
    if (!ids.has(note.id)) return note;
    const next = change(note) as TakeNote;
    changed ||= next !== note;
    return next;
  });
  return changed ? { ...take, notes } : take;
}

/** Flags that are removed when a player settles the note. */
const NOT_SETTLED: ReadonlySet<string> = new Set([DOUBTFUL, MAYBE_TWO, ACCEPTED, CORRECTED]);

/** The note with full confidence. Other readings keep their order, so that the player can still go through them. */
export function settled(note: Note, flag: string, alternatives: readonly TabNote[]): Note {
  const rest = note.flags.filter((flag) => !NOT_SETTLED.has(flag));
  return {
    ...note,
    confidence: 1,
    alternatives: alternatives.map((other) => ({ ...other, confidence: 0 })),
    flags: [...rest, flag],
  };
}

/** The take with other readings of some notes, settled; `f0Hz` when their pitch was measured again. */
export function readAs(
  take: Take,
  wanted: ReadonlyMap<string, TabNote>,
  custom: CustomHarp,
  f0Hz?: number,
): Take {
  const playable = playableNotes(take.harp, custom);
  return mapNotes(take, new Set(wanted.keys()), (note) => {
    const target = findPlayable(playable, wanted.get(note.id) as TabNote);
    if (target === undefined) return note;
    const { holes, holeBends, shake } = wanted.get(note.id) as TabNote;
    const as: TabNote = { ...tabOf(target), holes, holeBends, shake };
    if (sameWritten(note, as)) return isSettled(note) ? note : settled(note, ACCEPTED, note.alternatives);
    const others = note.alternatives.filter((other) => !sameWritten(other, as));
    const same = as.shake === true ? note : without(note, 'shake');
    const next = settled({ ...same, ...as }, CORRECTED, [tabOf(note), ...others]);
    return atPitch(next, target, f0Hz ?? (note.flags.includes(UNMEASURED) ? target.f0Hz : note.f0Hz));
  });
}

function atPitch(note: Note, target: PlayableNote, f0Hz: number): Note {
  return { ...note, f0Hz, midi: hzToMidi(f0Hz), cents: centsBetween(f0Hz, target.f0Hz) };
}

/** The take with an onset or offset moved, as far as the neighbour allows; where both touch, both move. */
export function moveEdge(take: Take, id: string, edge: 'onset' | 'offset', toSec: number): Take {
  const at = take.notes.findIndex((note) => note.id === id);
  if (at < 0) return take;
  const note = take.notes[at];
  const neighbour = take.notes[edge === 'onset' ? at - 1 : at + 1] as TakeNote | undefined;
  const gapSec =
    neighbour === undefined
      ? Number.POSITIVE_INFINITY
      : edge === 'onset'
        ? note.onsetSec - neighbour.offsetSec
        : neighbour.onsetSec - note.offsetSec;
  const touching = Math.abs(gapSec) < TOUCHING_SEC;
  let lowest = edge === 'onset' ? 0 : note.onsetSec + SHORTEST_NOTE_SEC;
  let highest = edge === 'onset' ? note.offsetSec - SHORTEST_NOTE_SEC : take.source.durationSec;
  if (neighbour !== undefined) {
    if (edge === 'onset') lowest = touching ? neighbour.onsetSec + SHORTEST_NOTE_SEC : neighbour.offsetSec;
    else highest = touching ? neighbour.offsetSec - SHORTEST_NOTE_SEC : neighbour.onsetSec;
  }
  const sec = Math.min(highest, Math.max(lowest, toSec));
  const now = edge === 'onset' ? note.onsetSec : note.offsetSec;
  if (!(lowest <= highest) || sec === now || Number.isNaN(sec)) return take;
  const notes = [...take.notes];
  notes[at] = edge === 'onset' ? { ...note, onsetSec: sec } : { ...note, offsetSec: sec };
  if (neighbour !== undefined && touching) {
    notes[edge === 'onset' ? at - 1 : at + 1] =
      edge === 'onset' ? { ...neighbour, offsetSec: sec } : { ...neighbour, onsetSec: sec };
  }
  return { ...take, notes };
}

/** The take with two notes in the place of one. */
export function splitNote(take: Take, action: EditAction & { kind: 'split' }, custom: CustomHarp): Take {
  const atSec = roundSec(action.atSec);
  const at = take.notes.findIndex((note) => note.id === action.id);
  const note = take.notes[at] as TakeNote | undefined;
  if (note === undefined) return take;
  if (!(atSec - note.onsetSec >= SHORTEST_NOTE_SEC && note.offsetSec - atSec >= SHORTEST_NOTE_SEC))
    return take;
  const playable = playableNotes(take.harp, custom);
  const [first, second] = [0, 1].map((part): TakeNote => {
    const f0Hz = action.f0Hz?.[part] ?? note.f0Hz;
    const target = nearestPlayable(playable, f0Hz, note);
    const { againSec: _, ...plain } = note;
    const flags = note.flags.filter((flag) => flag !== MAYBE_TWO);
    return atPitch({ ...plain, ...tabOf(target), flags, intonation: null }, target, f0Hz) as TakeNote;
  });
  return withNotes(take, [
    ...take.notes.slice(0, at),
    { ...without(first, 'fall'), offsetSec: atSec },
    { ...without(second, 'scoop'), id: freshId(take), onsetSec: atSec, start: 'tongue' },
    ...take.notes.slice(at + 1),
  ]);
}

/** A note without one kind of ornament. */
function without<T extends Ornamented>(note: T, kind: OrnamentKind): T {
  return withOrnaments(
    note,
    ornamentsOf(note).filter((ornament) => ornament.kind !== kind),
  );
}

/** The note of the harp nearest to a pitch; the present reading if none is nearer. */
function nearestPlayable(playable: readonly PlayableNote[], f0Hz: number, now: TabNote): PlayableNote {
  const away = (note: PlayableNote) => Math.abs(centsBetween(f0Hz, note.f0Hz));
  const so = findPlayable(playable, now);
  return playable.reduce((best, note) => (away(note) < away(best) - 1 ? note : best), so ?? playable[0]);
}

/** The take with this note and the next as one. */
export function mergeNotes(take: Take, id: string): Take {
  const at = take.notes.findIndex((note) => note.id === id);
  const note = take.notes[at] as TakeNote | undefined;
  const next = take.notes[at + 1] as TakeNote | undefined;
  if (note === undefined || next === undefined) return take;
  const longer = next.offsetSec - next.onsetSec > note.offsetSec - note.onsetSec ? next : note;
  const whole = {
    ...longer,
    id: note.id,
    start: note.start,
    onsetSec: note.onsetSec,
    offsetSec: next.offsetSec,
  };
  // It begins like the first note and ends like the second.
  const ornaments = [note, next].flatMap((of) =>
    ornamentsOf(of).filter(({ kind }) => (kind === 'scoop' ? note : kind === 'fall' ? next : longer) === of),
  );
  const merged = withOrnaments(settled(whole, CORRECTED, longer.alternatives), ornaments) as TakeNote;
  return withNotes(take, [...take.notes.slice(0, at), merged, ...take.notes.slice(at + 2)]);
}

/** The take with one more note, settled; the same if there is no room. */
export function insertNote(take: Take, action: EditAction & { kind: 'insert' }, custom: CustomHarp): Take {
  const target = findPlayable(playableNotes(take.harp, custom), action.as);
  const onsetSec = Math.max(0, roundSec(action.onsetSec));
  const offsetSec = Math.min(take.source.durationSec, roundSec(action.offsetSec));
  if (target === undefined || !(offsetSec - onsetSec >= SHORTEST_NOTE_SEC)) return take;
  const after = take.notes.findIndex((note) => note.onsetSec >= offsetSec);
  const at = after < 0 ? take.notes.length : after;
  const before = take.notes[at - 1] as TakeNote | undefined;
  if (before !== undefined && before.offsetSec > onsetSec) return take;
  const f0Hz = action.f0Hz ?? target.f0Hz;
  const note = {
    id: freshId(take),
    onsetSec,
    offsetSec,
    f0Hz,
    midi: hzToMidi(f0Hz),
    ...tabOf(target),
    cents: centsBetween(f0Hz, target.f0Hz),
    confidence: 1,
    alternatives: [],
    start: before === undefined ? 'silence' : 'tongue',
    intonation: null,
    leak: null,
    levelDb: before?.levelDb ?? take.notes[at]?.levelDb ?? TYPICAL_LEVEL_DB,
    harmonicityDb: 0,
    flags: action.f0Hz === undefined ? [UNMEASURED, CORRECTED] : [CORRECTED],
  } as TakeNote;
  return withNotes(take, [...take.notes.slice(0, at), note, ...take.notes.slice(at)]);
}

/** Turns a sound that was left out into a note, as far as there is room between its neighbours. */
export function bringBack(
  take: Take,
  { onsetSec, as }: EditAction & { kind: 'bring-back' },
  custom: CustomHarp,
): Take {
  const sound = take.leftOut?.find((each) => each.onsetSec === onsetSec);
  if (sound === undefined) return take;
  const { f0Hz, why } = sound;
  const place = roomFor(take.notes, sound);
  const inserted = insertNote(take, { kind: 'insert', ...place, as, f0Hz }, custom);
  if (inserted === take) return take;
  const known = new Set(take.notes.map(({ id }) => id));
  return {
    ...inserted,
    notes: inserted.notes.map((note) => (known.has(note.id) ? note : { ...note, leftOutAs: why })),
    leftOut: take.leftOut?.filter((each) => each !== sound),
  };
}

/** Level of an inserted note in a take without any other. */
const TYPICAL_LEVEL_DB = -20;

/** Ids are never reused, not even those of deleted notes: ids in the edits count too. */
function freshId(take: Take): string {
  let highest = 0;
  const count = (id: string) => {
    highest = Math.max(highest, Number(/^n(\d+)$/.exec(id)?.[1] ?? 0));
  };
  for (const { id } of take.notes) count(id);
  for (const edit of take.edits) {
    const patch = edit.patch as { notes?: readonly { id: string }[] } | undefined;
    for (const { id } of patch?.notes ?? []) count(id);
  }
  return `n${highest + 1}`;
}

/** The take with other notes: phrases keep their notes, a new note joins the one before it. */
export function withNotes(take: Take, notes: TakeNote[]): Take {
  if (notes.length === take.notes.length) return take;
  const phraseOf = new Map<string, number>();
  take.phrases.forEach(({ firstNote, lastNote }, p) => {
    for (let i = firstNote; i <= lastNote; i++) phraseOf.set(take.notes[i].id, p);
  });
  const known = new Set(take.notes.map(({ id }) => id));
  const place = notes.map(({ id }) => phraseOf.get(id));
  notes.forEach(({ id }, i) => {
    if (!known.has(id)) place[i] = place[i - 1] ?? place[i + 1];
  });
  const phrases = take.phrases.flatMap((phrase, p) => {
    const firstNote = place.indexOf(p);
    return firstNote < 0 ? [] : [{ ...phrase, firstNote, lastNote: place.lastIndexOf(p) }];
  });
  const there = new Set(notes.map(({ id }) => id));
  // Words are never dropped: those without a note are printed separately.
  const words = take.words.map((each) =>
    each.noteId === null || there.has(each.noteId) ? each : { ...each, noteId: null, holds: 0 },
  );
  return { ...take, notes, phrases, words };
}
