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

/** The same mistakes without any doubts, as after careless editing. */
export function withHiddenMistakes(): Note[] {
  return withMistakes().map((note) => ({ ...note, confidence: 0.97, flags: [], alternatives: [] }));
}

/** Where the lines of the tune begin, as positions of their notes. */
export const PHRASE_STARTS: readonly number[] = [0, 15, 30, 40];

/** The phrases of a take of it, with the break before the third line missing. */
export function joinedPhrases(notes: readonly Note[]): { firstNote: number; lastNote: number }[] {
  const starts = [PHRASE_STARTS[0], PHRASE_STARTS[1], PHRASE_STARTS[3]].map((start) =>
    notes.findIndex(({ onsetSec }) => onsetSec >= PLAYED[start].onsetSec),
  );
  return starts.map((firstNote, i) => ({ firstNote, lastNote: (starts[i + 1] ?? notes.length) - 1 }));
}

/** One mistake, what the screen says about it, and the keys that correct it. */
export interface Cure {
  readonly planted: string;
  readonly says: string;
  readonly keys: readonly string[];
}

const goAndCure = ['Tab', 'Space'] as const;

/** The thirteen mistakes in the order in which a player corrects them, and saving at the end. */
export const CURES: readonly Cure[] = [
  { planted: '5 blow read as 5 draw', says: 'sounds as 5 does, not as -5', keys: goAndCure },
  { planted: 'two notes read as one', says: 'two notes sound here', keys: goAndCure },
  { planted: '4 blow read an octave low', says: 'sounds C5, an octave higher than 1', keys: goAndCure },
  { planted: '5 blow read as 5 draw', says: 'sounds as 5 does, not as -5', keys: goAndCure },
  { planted: 'a note cut in two', says: 'this note and the next sound as one', keys: goAndCure },
  { planted: '6 draw read as 7 blow', says: 'sounds A5, a minor third lower than 7', keys: goAndCure },
  { planted: 'a phrase break that is missing', says: 'phrase 3 begins here', keys: ['Left', 'Left', 'k'] },
  { planted: 'a note that was missed', says: 'G5 sounds here but no note is written', keys: goAndCure },
  { planted: 'a note that nobody played', says: 'nothing sounds under 10', keys: goAndCure },
  { planted: 'a bend read a semitone short', says: "sounds as -3'' does, not as -3'", keys: goAndCure },
  {
    planted: '2 draw read as 3 blow, the same pitch',
    says: '2 more notes sound like it',
    keys: ['Left', '2'],
  },
  { planted: 'and in two places more', says: '2 notes changed', keys: ['a', 'a'] },
  { planted: 'saved', says: 'saving', keys: ['C-s'] },
];
