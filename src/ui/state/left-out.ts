import type { LeftOutReason, Note } from '../../tab/note.ts';
import { hzToMidi } from '../../units.ts';
import type { Mark } from './marks.ts';
import type { UiState } from './state.ts';

/** Each reason for leaving a sound out: one word for the picture, and a few words. */
const REASONS: Readonly<Record<LeftOutReason, readonly [word: string, words: string]>> = {
  talk: ['talk', 'taken for talk'],
  noise: ['noise', 'taken for noise, an echo or something too faint to be a note'],
  'other-instrument': ['other', 'taken for another instrument'],
  'not-on-harp': ['not here', 'not a note of this harp'],
  doubtful: ['faint', 'too faint or too short to be sure of'],
};

/** The reason for leaving a sound out, in one word. */
export const reasonWord = (why: LeftOutReason): string => REASONS[why][0];
/** The same in a few words. */
const reasonInWords = (why: LeftOutReason): string => REASONS[why][1];

const known = new WeakMap<readonly Note[], { readonly leftOut: unknown; readonly marks: readonly Mark[] }>();

/** The sounds that were left out, as marks in time order, except where there is now a note. */
export function leftOutMarks({ edited }: UiState): readonly Mark[] {
  const { notes, leftOut = [] } = edited.take;
  const before = known.get(notes);
  if (before?.leftOut === leftOut) return before.marks;
  let at = -1;
  const marks = leftOut.flatMap(({ onsetSec, offsetSec, f0Hz, why }): Mark[] => {
    const middle = (onsetSec + offsetSec) / 2;
    while (at + 1 < notes.length && notes[at + 1].onsetSec <= middle) at++;
    if (at >= 0 && notes[at].offsetSec > middle) return [];
    return [
      {
        kind: 'left-out',
        key: `left-out ${onsetSec}`,
        sec: onsetSec,
        at,
        sound: { onsetSec, offsetSec, f0Hz, midi: hzToMidi(f0Hz) },
        why,
        text: `left out: ${reasonInWords(why)}`,
        cure: 'makes it a note',
      },
    ];
  });
  known.set(notes, { leftOut, marks });
  return marks;
}
