import { describe, expect, it } from 'vitest';
import { findPhrases } from '../../src/music/phrases.ts';
import { labelPhrases, pairNotes } from '../../src/music/repeats.ts';
import { parseTabToken } from '../../src/tab/text.ts';

const tab = (text: string) => text.split(' ').map((token) => parseTabToken(token)!);

/** Phrases of a tab, parted by `|`. */
function phrased(text: string) {
  const notes = tab(text.replaceAll(' | ', ' '));
  let next = 0;
  const phrases = text.split(' | ').map((part) => {
    const firstNote = next;
    next += part.split(' ').length;
    return { firstNote, lastNote: next - 1 };
  });
  return { notes, phrases };
}

const label = (text: string) => {
  const { notes, phrases } = phrased(text);
  return labelPhrases(notes, phrases);
};

describe('phrases', () => {
  it('end at rests', () => {
    const notes = [0, 0.5, 1, 2.2, 2.7].map((onsetSec) => ({ onsetSec, offsetSec: onsetSec + 0.48 }));
    expect(findPhrases(notes)).toEqual([
      { firstNote: 0, lastNote: 2 },
      { firstNote: 3, lastNote: 4 },
    ]);
  });

  it('end after long notes when nobody breathes', () => {
    let at = 0;
    const notes = Array.from({ length: 32 }, (_, i) => {
      const sec = i % 8 === 7 ? 1.2 : 0.4;
      const note = { onsetSec: at, offsetSec: at + sec };
      at += sec;
      return note;
    });
    expect(findPhrases(notes).length).toBeGreaterThan(1);
    for (const { firstNote } of findPhrases(notes)) expect(firstNote % 8).toBe(0);
  });

  it('of no notes are none', () => {
    expect(findPhrases([])).toEqual([]);
  });
});

describe('repeats', () => {
  it('are recognised and labelled', () => {
    // "Are you sleeping", a round: each line is sung twice
    const labels = label('4 -4 5 4 | 4 -4 5 4 | 5 -5 6 | 5 -5 6 | 6 -6 6 -5 5 4 | 6 -6 6 -5 5 4');
    expect(labels.map((phrase) => phrase.label)).toEqual(['A', 'A', 'B', 'B', 'C', 'C']);
    expect(labels[3].like).toEqual({ phrase: 2, differences: [] });
  });

  it('name small differences', () => {
    const [, second] = label("-4 5 -5 5 -4 4 -3 | -4 5 -5 5 -4 4 -3''");
    expect(second.label).toBe("A'");
    expect(second.like?.differences).toEqual([{ kind: 'changed', note: 13, other: 6 }]);
    const [, longer] = label('-4 5 -5 5 -4 4 | -4 5 -5 5 -4 4 3');
    expect(longer.like?.differences).toEqual([{ kind: 'added', note: 12, other: null }]);
    const [, shorter] = label('-4 5 -5 5 -4 4 | -4 5 5 -4 4');
    expect(shorter.like?.differences).toEqual([{ kind: 'missing', note: null, other: 2 }]);
  });

  it('are not claimed for phrases that share a few notes, or for very short ones', () => {
    expect(label('4 -4 5 4 | 6 -6 5 4').map((phrase) => phrase.label)).toEqual(['A', 'B']);
    expect(label('4 4 | 4 4').map((phrase) => phrase.label)).toEqual(['A', 'B']);
  });

  it('tell which note stands for which, so that a correction can be carried over', () => {
    const { notes, phrases } = phrased('4 5 6 7 | 4 6 7 8');
    expect(pairNotes(notes, phrases[0], phrases[1])).toEqual([
      { kind: 'same', note: 4, other: 0 },
      { kind: 'missing', note: null, other: 1 },
      { kind: 'same', note: 5, other: 2 },
      { kind: 'same', note: 6, other: 3 },
      { kind: 'added', note: 7, other: null },
    ]);
  });
});
