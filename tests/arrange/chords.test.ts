import { describe, expect, it } from 'vitest';
import { arrange } from '../../src/arrange/arrange.ts';
import { chordsOf } from '../../src/arrange/chords.ts';
import { choiceOf } from '../../src/arrange/tablature.ts';
import { tuneFromMelody } from '../../src/arrange/tune.ts';
import { DEFAULT_WEIGHTS } from '../../src/arrange/weights.ts';
import { parseHarpKey } from '../../src/harp/keys.ts';
import { LAYOUTS } from '../../src/harp/layouts.ts';
import { findPlayable, playableNotes } from '../../src/harp/playable.ts';
import { readAbc } from '../../src/music/reading/abc/abc.ts';
import { formatTabNote, parseTabToken } from '../../src/tab/text.ts';

const tuneOf = (body: string) =>
  tuneFromMelody(readAbc(new TextEncoder().encode(`X:1\nM:4/4\nL:1/4\nK:C\n${body}|\n`), 'tune.abc'));
const richter = LAYOUTS.find(({ id }) => id === 'richter')!;

/** Chords of a tune whose melody is played as the tab says, on a C harp. */
function laid(body: string, tab: string): { tab: string; lost: readonly number[] }[] {
  const notes = playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 });
  const choices = tab.split(' ').map((token) => choiceOf(findPlayable(notes, parseTabToken(token)!)!, notes));
  const candidate = {
    laid: { choices, cost: 0, prices: () => ({ parts: [], lungs: [] }) },
  };
  return chordsOf(tuneOf(body), candidate).flatMap((chord) =>
    chord === null ? [] : [{ tab: formatTabNote(chord.tab), lost: chord.lost }],
  );
}

describe('chords of an arranged tune', () => {
  // Reeds of a C harp, Richter: blow C E G C E G C E G C, draw D G B D F A B D F A.
  it('are played in the breath of the melody note, as far as one mouth reaches', () => {
    expect(laid('[ce] [df] c', '5 -5 4')).toEqual([
      { tab: '4+5', lost: [] },
      { tab: '-4+5', lost: [] },
    ]);
    expect(laid('[CEGc]', '4')).toEqual([{ tab: '1+2+3+4', lost: [] }]);
    // An octave around the tongue, and a third note that is then out of reach.
    expect(laid('[Cc]', '4')).toEqual([{ tab: '1+4', lost: [] }]);
  });

  it('name the dropped notes: in the other breath, on no reed, or next to a bend', () => {
    expect(laid('[Ed]', '-4')).toEqual([{ tab: '-4', lost: [64] }]);
    expect(laid('[FAc]', '4')).toEqual([{ tab: '4', lost: [65, 69] }]);
    expect(laid('[G^c]', "-4'")).toEqual([{ tab: "-4'", lost: [67] }]);
  });

  it('decide between two places for a melody note: 2 draw and 3 blow have the same pitch', () => {
    const tabOf = (body: string): string[] => {
      const [best] = arrange(tuneOf(body), {
        harps: [parseHarpKey('C')],
        tunings: [richter],
        keepKey: true,
        octaves: [0],
      }).candidates;
      return best.laid.choices.map((choice) => formatTabNote(choice!.note));
    };
    expect(tabOf('[EG] [EG]')).toEqual(['3', '3']);
    expect(tabOf('[DG] [DG]')).toEqual(['-2', '-2']);
  });

  it('lie on the same holes in every key', () => {
    const tune = tuneOf('[Ac] [Ac]');
    const [best] = arrange(tune, {
      harps: [parseHarpKey('F')],
      tunings: [richter],
      keepKey: true,
    }).candidates;
    expect(chordsOf(tune, best).map((chord) => chord?.lost)).toEqual([[], []]);
  });

  it('raise the cost of a harp that loses some of their notes', () => {
    const costOn = (body: string): number =>
      arrange(tuneOf(body), { harps: [parseHarpKey('C')], tunings: [richter], keepKey: true, octaves: [0] })
        .candidates[0].cost;
    // No breath of a C harp has A beside E, one has C.
    expect(costOn('[Ae] [Ae]') - costOn('e e')).toBeCloseTo(2 * DEFAULT_WEIGHTS.lostChordNote, 6);
    expect(costOn('[ce] [ce]')).toBeCloseTo(costOn('e e'), 6);
  });

  it('are absent from a tune without chords', () => {
    expect(
      chordsOf(tuneOf('c d'), {
        laid: { choices: [], cost: 0, prices: () => ({ parts: [], lungs: [] }) },
      }),
    ).toEqual([null, null]);
  });
});
