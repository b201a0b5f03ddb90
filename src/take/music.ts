import { measurePhraseLevel } from '../measure/phrase-level.ts';
import { labelPhrases } from '../music/phrase-repetition.ts';
import type { Phrase } from '../music/phrases.ts';
import { type BeatOptions, findBeats } from '../music/rhythm/beats.ts';
import { weaknessOf } from '../music/rhythm/metre.ts';
import type { SungNote } from '../music/words/costs.ts';
import type { AlignedWords } from '../music/words/underlay.ts';
import type { Note } from '../tab/note.ts';
import type { Take, TakeBeats } from './schema.ts';

/** The beat grid of these notes as a take keeps it; `given` is remembered. */
export function buildBeats(notes: readonly Note[], given: BeatOptions = {}): TakeBeats {
  const beats = findBeats(notes, given);
  return {
    ...beats,
    metre: beats.metre === null ? null : checkedMetre(beats.metre),
    gridSec: [...beats.gridSec],
    notes: beats.notes.map((placed, i) => ({ id: notes[i].id, ...placed })),
    ...(Object.keys(given).length === 0 ? {} : { given: { ...given } as NonNullable<TakeBeats['given']> }),
  };
}

/** What the player said about the beats of a take; empty for nothing. */
export function givenBeats({ beats }: Take): BeatOptions {
  const given: TakeBeats['given'] = beats.notes === undefined ? undefined : beats.given;
  return {
    ...(given?.tempoBpm === undefined ? {} : { tempoBpm: given.tempoBpm }),
    ...(given?.metre === undefined ? {} : { metre: given.metre }),
    ...(given?.pickupTicks === undefined ? {} : { pickupTicks: given.pickupTicks }),
    ...(given?.downbeatSec === undefined ? {} : { downbeatSec: given.downbeatSec }),
    ...(given?.free === undefined ? {} : { free: given.free }),
  };
}

/**
 * What was said about beats before still holds unless it is said again. A metre, or where bars begin, ends free time,
 * and free time ends them; a pick-up replaces the note that was said to begin a bar, and the other way round.
 */
export function saidOfBeats(before: BeatOptions, now: BeatOptions): BeatOptions {
  const { free, metre, pickupTicks, downbeatSec, ...rest } = { ...before, ...now };
  const barsAnew = [now.metre, now.pickupTicks, now.downbeatSec].some((said) => said !== undefined);
  const ends = (other: number | undefined) => now.free === true || other !== undefined;
  return {
    ...rest,
    ...(pickupTicks === undefined || ends(now.downbeatSec) ? {} : { pickupTicks }),
    ...(downbeatSec === undefined || ends(now.pickupTicks) ? {} : { downbeatSec }),
    ...(free === undefined || barsAnew ? {} : { free }),
    ...(metre === undefined || now.free ? {} : { metre }),
  };
}

function checkedMetre({ count, unit }: { count: number; unit: number }): NonNullable<TakeBeats['metre']> {
  return { count, unit: unit as NonNullable<TakeBeats['metre']>['unit'] };
}

/** Phrases with their labels and levels, as a take keeps them. */
export function buildPhrases(notes: readonly Note[], phrases: readonly Phrase[]): Take['phrases'] {
  return labelPhrases(notes, phrases).map((phrase) => ({
    ...phrase,
    level: phraseLevel(notes, phrase),
    like:
      phrase.like === null
        ? null
        : {
            phrase: phrase.like.phrase,
            differences: phrase.like.differences.map((difference) => ({ ...difference })),
          },
  }));
}

/** The level of a phrase, as a take keeps it. */
function phraseLevel(
  notes: readonly Note[],
  { firstNote, lastNote }: Phrase,
): NonNullable<Take['phrases'][number]['level']> | null {
  const level = measurePhraseLevel(notes.slice(firstNote, lastNote + 1));
  return level === null ? null : { ...level };
}

/** The notes of a take under which words are laid, with their places in the bar if the beats are reliable. */
export function sungNotes({ notes, beats }: Take): SungNote[] {
  const places = new Map(
    beats.notes === undefined || beats.metre === null
      ? []
      : beats.notes.map(({ id, atTicks }) => [id, atTicks]),
  );
  return notes.map((note) => {
    const { start, onsetSec, offsetSec, midi } = note;
    const atTicks = places.get(note.id);
    const metre = beats.notes === undefined ? null : beats.metre;
    const weakness = atTicks === undefined || metre === null ? {} : { weakness: weaknessOf(atTicks, metre) };
    return { start, onsetSec, offsetSec, midi, ...weakness };
  });
}

/** Laid words as a take keeps them. */
export function buildWords(notes: readonly Note[], { syllables }: AlignedWords): Take['words'] {
  return syllables.map(({ note, ...rest }) => ({ ...rest, noteId: note === null ? null : notes[note].id }));
}
