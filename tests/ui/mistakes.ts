import { findPlayable } from '../../src/harp/playable.ts';
import type { Note } from '../../src/tab/note.ts';
import { centsBetween } from '../../src/units.ts';
import { notesOf, PLAYABLE, round, sounding, tab } from './example-take.ts';

/** What was really played: "Oh! Susanna" (S. Foster, 1848, public domain) in first position, with a bluesy tail. */
export const PLAYED = notesOf([
  '4 -4 5 6 6 -6 6 5 4 -4 5 5 -4 4 -4',
  '4 -4 5 6 6 -6 6 5 4 -4 5 5 -4 -4 4',
  '-5 -5 -6 -6 -6 6 6 5 4 -4',
  "-2 -3'' -3 4 -3 -3'' -2 -2'' -1 -2",
]);

const doubtful = (confidence: number, ...others: [string, number][]): Partial<Note> => ({
  confidence,
  flags: ['doubtful-hole'],
  alternatives: others.map(([text, share]) => ({ ...tab(text), confidence: share })),
});

/**
 * The same with twelve mistakes of the kinds that transcription makes: seven readings (three of them the 2 draw that is
 * 3 blow's pitch), an octave, a note cut in two, two notes read as one, a note that was none, a note that was missed.
 * Ten of the places are in doubt, as the decoder would leave them; the two notes read as one and the missed one are not.
 */
export function withMistakes(): Note[] {
  const notes = [...PLAYED];
  const change = (i: number, changes: Partial<Note>) => {
    const note = { ...notes[i], ...changes };
    const target = findPlayable(PLAYABLE, note);
    notes[i] = { ...note, cents: target === undefined ? 0 : centsBetween(note.f0Hz, target.f0Hz) };
  };
  const [first, second, third] = [40, 46, 49];
  // 1 to 3: the same pitch on the other hole.
  for (const [i, confidence] of [
    [first, 0.52],
    [second, 0.55],
    [third, 0.5],
  ] as const) {
    change(i, { ...tab('3'), ...doubtful(confidence, ['-2', 0.45]) });
  }
  // 4 and 5: the second alternative is right.
  change(7, { ...tab('-5'), ...doubtful(0.4, ['6o', 0.2], ['5', 0.19]) });
  change(22, { ...tab('-5'), ...doubtful(0.42, ['6o', 0.2], ['5', 0.19]) });
  // 6: a bend a semitone short. 7: the hole above.
  change(41, { ...tab("-3'"), ...doubtful(0.6, ["-3''", 0.3]) });
  change(32, { ...tab('7'), ...doubtful(0.45, ['-6', 0.4]) });
  // 8: an octave too low, pitch and all.
  change(15, { ...sounding('1', notes[15].onsetSec, notes[15].offsetSec, notes[15].id), ...doubtful(0.5) });
  const made: Note[] = [];
  for (const [i, note] of notes.entries()) {
    if (i === 27) {
      // 9: cut in two; the second half is in doubt.
      const middle = round((note.onsetSec + note.offsetSec) / 2);
      made.push({ ...note, offsetSec: middle }, { ...note, id: 'n60', onsetSec: middle, ...doubtful(0.6) });
    } else if (i === 11) {
      // 10: read as one with the note before it, which has the same pitch.
      made[made.length - 1] = { ...made[made.length - 1], offsetSec: note.offsetSec };
    } else if (i === 36) {
      // 11: missed.
    } else if (i === 38) {
      // 12: in the gap after it a note that was none.
      made.push(note, sounding('10', note.offsetSec + 0.01, note.offsetSec + 0.05, 'n61', doubtful(0.2)));
    } else {
      made.push(note);
    }
  }
  return made;
}

/** The same mistakes, and no word of doubt: what a hand that was too quick leaves. */
export function withHiddenMistakes(): Note[] {
  return withMistakes().map((note) => ({ ...note, confidence: 0.97, flags: [], alternatives: [] }));
}
