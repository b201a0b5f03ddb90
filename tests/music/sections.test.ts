import { describe, expect, it } from 'vitest';
import { findSections } from '../../src/music/sections.ts';

/** Notes and lines of tab, a line for each string. */
function linesOf(...lines: string[]) {
  const notes = lines.flatMap((line) => line.split(' ').map(noteOf));
  let firstNote = 0;
  const phrases = lines.map((line) => {
    const lastNote = firstNote + line.split(' ').length - 1;
    const phrase = { firstNote, lastNote };
    firstNote = lastNote + 1;
    return phrase;
  });
  return { notes, phrases };
}

function noteOf(tab: string) {
  return {
    hole: Math.abs(Number(tab)),
    breath: tab.startsWith('-') ? 'draw' : 'blow',
    bend: 0,
    over: false,
  } as const;
}

const A = '4 -4 5 4';
const B = '6 6 -5 5';
const C = '-6 -6 6 5';

describe('sections', () => {
  it('are the lines themselves if there are as many lines as names', () => {
    const { notes, phrases } = linesOf(A, A, B, A);
    expect(findSections(notes, phrases, ['A', 'A', 'B', 'A'])?.map(({ firstPhrase }) => firstPhrase)).toEqual(
      [0, 1, 2, 3],
    );
  });

  it('are divided so that sections of the same name are alike', () => {
    const { notes, phrases } = linesOf(A, B, A, B, C, A, B);
    const found = findSections(notes, phrases, ['verse', 'verse', 'bridge', 'verse']);
    expect(found).toEqual([
      { name: 'verse', firstPhrase: 0 },
      { name: 'verse', firstPhrase: 2 },
      { name: 'bridge', firstPhrase: 4 },
      { name: 'verse', firstPhrase: 5 },
    ]);
  });

  it('tolerate a changed note', () => {
    const { notes, phrases } = linesOf(A, B, '4 -4 5 5', B, C, C, A, B);
    const found = findSections(notes, phrases, ['A', 'A', 'B', 'A']);
    expect(found?.map(({ firstPhrase }) => firstPhrase)).toEqual([0, 2, 4, 6]);
  });

  it('are absent if there are fewer lines than names', () => {
    const { notes, phrases } = linesOf(A, B);
    expect(findSections(notes, phrases, ['A', 'A', 'B'])).toBeNull();
  });

  it('are nearly equally long if there are very many lines', () => {
    const { notes, phrases } = linesOf(...Array.from({ length: 80 }, () => A));
    const found = findSections(notes, phrases, Array.from('AABACABA'));
    expect(found?.map(({ firstPhrase }) => firstPhrase)).toEqual([0, 10, 20, 30, 40, 50, 60, 70]);
  });
});
