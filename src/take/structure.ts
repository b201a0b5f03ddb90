import { measurePhraseLevel } from '../measure/phrase-level.ts';
import { labelPhrases } from '../music/phrase-repetition.ts';
import { TICKS_PER_BEAT } from '../music/rhythm/metre.ts';
import type { Take } from './schema.ts';

type TakePhrase = Take['phrases'][number];

/** The take with a phrase beginning at this note; where one begins already it is joined to the one before. */
export function togglePhraseBreak(take: Take, at: number): Take {
  const { phrases, notes } = take;
  if (!(at > 0 && at < notes.length)) return take;
  const p = phrases.findIndex(({ firstNote, lastNote }) => firstNote <= at && at <= lastNote);
  if (p < 0) return take;
  const phrase = phrases[p];
  if (phrase.firstNote < at) {
    const { name: _, ...rest } = phrase;
    const second: TakePhrase = { ...rest, firstNote: at };
    return withPhrases(take, [
      ...phrases.slice(0, p),
      { ...phrase, lastNote: at - 1 },
      second,
      ...phrases.slice(p + 1),
    ]);
  }
  const before = phrases[p - 1];
  if (before === undefined || before.lastNote !== at - 1) return take;
  const joined: TakePhrase = { ...before, lastNote: phrase.lastNote };
  return withPhrases(take, [...phrases.slice(0, p - 1), joined, ...phrases.slice(p + 1)]);
}

function withPhrases(take: Take, phrases: readonly TakePhrase[]): Take {
  return relabel({ ...take, phrases: phrases.map((phrase) => ({ ...phrase })) });
}

/** What repeats what follows from the holes, and the level of a phrase from its notes; only where they were told. */
export function relabel(take: Take): Take {
  if (!take.phrases.some(({ label }) => label !== undefined)) return take;
  const phrases = labelPhrases(take.notes, take.phrases).map((phrase) => ({
    ...phrase,
    level: measurePhraseLevel(take.notes.slice(phrase.firstNote, phrase.lastNote + 1)),
  }));
  return { ...take, phrases: phrases as Take['phrases'] };
}

/** The take with a name for the section that begins with this phrase; an empty one takes the name away. */
export function nameSection(take: Take, phrase: number, name: string): Take {
  const now = take.phrases[phrase];
  if (now === undefined || (now.name ?? '') === name) return take;
  const { name: _, ...rest } = now;
  const phrases = [...take.phrases];
  phrases[phrase] = name === '' ? rest : { ...rest, name };
  return { ...take, phrases };
}

/** The take with neighbouring notes moved in time together, as far as the notes around them allow. */
export function shiftNotes(take: Take, ids: readonly string[], bySec: number): Take {
  const moved = new Set(ids);
  const first = take.notes.findIndex(({ id }) => moved.has(id));
  const last = take.notes.findLastIndex(({ id }) => moved.has(id));
  if (first < 0) return take;
  const earliest = take.notes[first - 1]?.offsetSec ?? 0;
  const latest = take.notes[last + 1]?.onsetSec ?? take.source.durationSec;
  const least = earliest - take.notes[first].onsetSec;
  const most = latest - take.notes[last].offsetSec;
  const by = Math.round(Math.max(Math.min(0, least), Math.min(Math.max(0, most), bySec)) * 10_000) / 10_000;
  if (by === 0) return take;
  const notes = take.notes.map((note, i) =>
    i < first || i > last ? note : { ...note, onsetSec: note.onsetSec + by, offsetSec: note.offsetSec + by },
  );
  return { ...take, notes };
}

/** The take with its bars beginning where this note is; unchanged in free time or where the note has no place. */
export function setDownbeat(take: Take, noteId: string): Take {
  const { beats } = take;
  if (beats.notes === undefined || beats.metre === null) return take;
  const { count, unit } = beats.metre;
  const barTicks = (count * 4 * TICKS_PER_BEAT) / unit;
  const place = beats.notes.find(({ id }) => id === noteId);
  if (place === undefined) return take;
  const pickupTicks = place.atTicks % barTicks;
  return pickupTicks === beats.pickupTicks ? take : { ...take, beats: { ...beats, pickupTicks } };
}
