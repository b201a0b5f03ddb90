import { barTicks, TICKS_PER_BEAT } from '../music/rhythm/metre.ts';
import { buildBeats, givenBeats } from '../take/music.ts';
import type { Take, TakeBeats } from '../take/schema.ts';
import { hasBeats } from './score.ts';

/** Between lines, this many empty bars in a row are not part of the tune: the teacher is talking. */
const TALK_BARS = 2;
/** Beats that count as a bar in free time. */
const FREE_BAR_BEATS = 4;

/** A take for a lesson, without the bars in which the teacher talks between lines. */
export function withoutTalk(take: Take): Take {
  return take.notes.length === 0 ? take : { ...take, beats: closedUp(take, beatsOf(take)) };
}

/**
 * A take without lines that repeat an earlier one note for note with the same words, such as a teacher's second
 * demonstration.
 */
export function toldOnce(take: Take): Take {
  const beats = beatsOf(take);
  const words = wordsByNote(take);
  const wordsOf = ({ firstNote, lastNote }: Take['phrases'][number]) =>
    take.notes
      .slice(firstNote, lastNote + 1)
      .map(({ id }) => words.get(id) ?? '')
      .join(' ');
  const kept = take.phrases.filter((phrase) => {
    const { like } = phrase;
    if (!like || like.differences.length > 0) return true;
    const own = wordsOf(phrase);
    return own.trim() !== '' && own !== wordsOf(take.phrases[like.phrase]);
  });
  const notes: Take['notes'] = [];
  const phrases: Take['phrases'] = [];
  for (const { like: _, firstNote, lastNote, ...phrase } of kept) {
    const first = notes.length;
    for (let i = firstNote; i <= lastNote; i++) notes.push(take.notes[i]);
    phrases.push({ ...phrase, firstNote: first, lastNote: notes.length - 1 });
  }
  const ids = new Set(notes.map(({ id }) => id));
  const told = {
    ...take,
    notes,
    phrases,
    words: take.words.filter(({ noteId }) => noteId !== null && ids.has(noteId)),
  };
  const isLeftOut = (phrase: Take['phrases'][number] | undefined) =>
    phrase !== undefined && !kept.includes(phrase);
  const afterLeftOut = new Set(
    take.phrases.flatMap(({ firstNote }, i) =>
      isLeftOut(take.phrases[i - 1]) ? [take.notes[firstNote].id] : [],
    ),
  );
  const toldNotes = beats.notes.filter(({ id }) => ids.has(id));
  return { ...told, beats: closedUp(told, { ...beats, notes: toldNotes }, afterLeftOut) };
}

const beatsOf = (take: Take): TakeBeats =>
  hasBeats(take) ? take.beats : buildBeats(take.notes, givenBeats(take));

function wordsByNote({ words }: Take): Map<string, string> {
  const byNote = new Map<string, string>();
  for (const { noteId, verse, text } of words) {
    if (noteId !== null) byNote.set(noteId, `${byNote.get(noteId) ?? ''}${verse}:${text} `);
  }
  return byNote;
}

/**
 * The places of the notes without empty bars of talk between lines; they no longer fit the grid of the recording.
 * @param afterLeftOut ids of notes before which a line was left out; its bars are removed however few they are
 */
function closedUp(
  { phrases, notes }: Pick<Take, 'phrases' | 'notes'>,
  beats: TakeBeats,
  afterLeftOut: ReadonlySet<string> = new Set(),
): TakeBeats {
  const bar = beats.metre === null ? FREE_BAR_BEATS * TICKS_PER_BEAT : barTicks(beats.metre);
  const starts = new Set(phrases.map(({ firstNote }) => notes[firstNote].id));
  let out = 0;
  let end = 0;
  const placed = beats.notes.map((note) => {
    const empty = Math.floor(note.atTicks / bar) - Math.ceil(end / bar);
    const fewest = afterLeftOut.has(note.id) ? 1 : TALK_BARS;
    if (starts.has(note.id) && end > 0 && empty >= fewest) out += empty * bar;
    end = note.atTicks + note.lengthTicks;
    return { ...note, atTicks: note.atTicks - out };
  });
  // What is shown begins in the first bar.
  const lead = Math.floor((placed[0]?.atTicks ?? 0) / bar) * bar;
  return { ...beats, gridSec: [], notes: placed.map((note) => ({ ...note, atTicks: note.atTicks - lead })) };
}
