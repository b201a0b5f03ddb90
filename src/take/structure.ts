import { LIMITS } from '../limits.ts';
import { measurePhraseLevel } from '../measure/phrase-level.ts';
import { labelPhrases } from '../music/phrase-repetition.ts';
import { TICKS_PER_BEAT } from '../music/rhythm/metre.ts';
import { findSections } from '../music/sections.ts';
import { buildBeats, givenBeats, saidOfBeats } from './music.ts';
import type { Take, TakeBeats } from './schema.ts';

type TakePhrase = Take['phrases'][number];

/** The take with a phrase beginning at this note; if one already does, it is joined to the one before. */
export function togglePhraseBreak(take: Take, at: number): Take {
  const { phrases, notes } = take;
  if (!(at > 0 && at < notes.length)) return take;
  const p = phrases.findIndex(({ firstNote, lastNote }) => firstNote <= at && at <= lastNote);
  if (p < 0) return take;
  const phrase = phrases[p];
  if (phrase.firstNote < at) {
    const { name: _, advice: __, ...rest } = phrase;
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
  const advice = [before.advice, phrase.advice]
    .filter((each) => each !== undefined)
    .join(' ')
    .slice(0, LIMITS.textLength.most);
  const joined: TakePhrase = {
    ...before,
    lastNote: phrase.lastNote,
    ...(advice === '' ? {} : { advice }),
  };
  return withPhrases(take, [...phrases.slice(0, p - 1), joined, ...phrases.slice(p + 1)]);
}

function withPhrases(take: Take, phrases: readonly TakePhrase[]): Take {
  return relabel({ ...take, phrases: phrases.map((phrase) => ({ ...phrase })) });
}

/** Updates what repeats, which depends on the holes, and the levels of phrases; only where they were known. */
export function relabel(take: Take): Take {
  if (!take.phrases.some(({ label }) => label !== undefined)) return take;
  const phrases = labelPhrases(take.notes, take.phrases).map((phrase) => ({
    ...phrase,
    level: measurePhraseLevel(take.notes.slice(phrase.firstNote, phrase.lastNote + 1)),
  }));
  return { ...take, phrases: phrases as Take['phrases'] };
}

/**
 * The take with neighbouring notes separated from their phrase. Those at its beginning join the phrase before, those at
 * its end the one after, a whole phrase the one before. Where there is no phrase on that side, or the notes lie in the
 * middle, they become a phrase of their own.
 * @param first  position among the notes, as is `last`; both inclusive and of one phrase
 */
export function toOtherPhrase(take: Take, first: number, last: number): Take {
  const { phrases } = take;
  const p = phrases.findIndex(({ firstNote, lastNote }) => firstNote <= first && last <= lastNote);
  if (p < 0 || last < first) return take;
  const phrase = phrases[p];
  const before = phrases[p - 1];
  const after = phrases[p + 1];
  const begins = first === phrase.firstNote;
  const ends = last === phrase.lastNote;
  if (begins && before?.lastNote === first - 1) {
    if (ends) return togglePhraseBreak(take, first);
    return withPhrases(take, [
      ...phrases.slice(0, p - 1),
      { ...before, lastNote: last },
      { ...phrase, firstNote: last + 1 },
      ...phrases.slice(p + 1),
    ]);
  }
  if (ends && after?.firstNote === last + 1) {
    if (begins) return togglePhraseBreak(take, after.firstNote);
    return withPhrases(take, [
      ...phrases.slice(0, p),
      { ...phrase, lastNote: first - 1 },
      { ...after, firstNote: first },
      ...phrases.slice(p + 2),
    ]);
  }
  const parted = begins ? take : togglePhraseBreak(take, first);
  return ends ? parted : togglePhraseBreak(parted, last + 1);
}

/** The take with another title; empty removes it. */
export function withTitle(take: Take, title: string): Take {
  if ((take.title ?? '') === title) return take;
  const { title: _, ...rest } = take;
  return title === '' ? rest : { ...rest, title };
}

/** The take with what the teacher says about a phrase, or about all of it (null); an empty text removes it. */
export function withAdvice(take: Take, phrase: number | null, text: string): Take {
  if (phrase === null) {
    if ((take.advice ?? '') === text) return take;
    const { advice: _, ...rest } = take;
    return text === '' ? rest : { ...rest, advice: text };
  }
  const now = take.phrases[phrase];
  if (now === undefined || (now.advice ?? '') === text) return take;
  const { advice: _, ...rest } = now;
  const phrases = [...take.phrases];
  phrases[phrase] = text === '' ? rest : { ...rest, advice: text };
  return { ...take, phrases };
}

/** The take with a name for the section that begins with this phrase; empty removes the name. */
export function nameSection(take: Take, phrase: number, name: string): Take {
  const now = take.phrases[phrase];
  if (now === undefined || (now.name ?? '') === name) return take;
  const { name: _, ...rest } = now;
  const phrases = [...take.phrases];
  phrases[phrase] = name === '' ? rest : { ...rest, name };
  return { ...take, phrases };
}

/**
 * The take with these sections instead of its own, starting where the repeats suggest; null if it has fewer lines than
 * sections.
 */
export function withSections(take: Take, form: readonly string[]): Take | null {
  const sections = form.length === 0 ? [] : findSections(take.notes, take.phrases, form);
  if (sections === null) return null;
  const names = new Map(sections.map(({ firstPhrase, name }) => [firstPhrase, name]));
  const phrases = take.phrases.map(({ name: _, ...phrase }, i) => {
    const name = names.get(i);
    return name === undefined ? phrase : { ...phrase, name };
  });
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
  const notes = take.notes.map((note, i) => (i < first || i > last ? note : shifted(note, by)));
  return { ...take, notes };
}

function shifted(note: Take['notes'][number], bySec: number): Take['notes'][number] {
  const { onsetSec, offsetSec, againSec } = note;
  return {
    ...note,
    onsetSec: onsetSec + bySec,
    offsetSec: offsetSec + bySec,
    ...(againSec !== undefined && { againSec: againSec + bySec }),
  };
}

/** A grid found again is a different one if its tempo differs by more than this. */
const SAME_TEMPO_SHARE = 0.03;

/**
 * The take with its bars beginning at this note; what comes before is a pick-up, which is kept as the player's word.
 * Unchanged in free time.
 */
export function setDownbeat(take: Take, noteId: string): Take {
  const { beats } = take;
  if (beats.notes === undefined || beats.metre === null) return take;
  const { metre, tempoBpm } = beats;
  const barTicks = (metre.count * 4 * TICKS_PER_BEAT) / metre.unit;
  const said = givenBeats(take);
  const placeIn = (grid: TakeBeats) => grid.notes.find(({ id }) => id === noteId)?.atTicks;
  // Notes added since then have no place yet.
  const now = placeIn(beats) === undefined ? buildBeats(take.notes, said) : beats;
  const at = placeIn(now);
  if (at === undefined) return take;
  const pickupTicks = (at - now.notes[0].atTicks) % barTicks;
  if (at % barTicks === 0 && said.pickupTicks === pickupTicks) return take;
  const told = saidOfBeats(said, { metre, pickupTicks });
  const again = buildBeats(take.notes, told);
  const isSame = Math.abs(again.tempoBpm / tempoBpm - 1) < SAME_TEMPO_SHARE;
  const isThere = isSame && (placeIn(again) ?? 1) % barTicks === 0;
  return { ...take, beats: isThere ? again : buildBeats(take.notes, { ...told, tempoBpm }) };
}
