import { describe, expect, it } from 'vitest';
import { leftOutInWords } from '../../src/tab/left-out-words.ts';
import { doubtOf, remarksOn } from '../../src/tab/remarks.ts';
import { suretyInWords } from '../../src/tab/surety.ts';
import { exampleNote } from '../take/example.ts';

const notes = (...confidences: number[]) =>
  confidences.map((confidence, i) => ({
    ...exampleNote('4', i, `n${i + 1}`),
    confidence,
    alternatives: [],
  }));
const C = { key: 'C', confidence: 1 };
const plain = (text: string) => text.replaceAll('\u00a0', ' ');

describe('how sure a tab is', () => {
  it('is the number of notes that may be wrong: the sum of their doubts', () => {
    const sure = notes(...new Array<number>(20).fill(0.9));
    expect(plain(suretyInWords({ notes: sure, harp: C }, 'signs'))).toBe(
      ', of which about 2 may be wrong, though none stands out.',
    );
    expect(plain(suretyInWords({ notes: notes(0.99, 0.99), harp: C }, 'signs'))).toBe(
      ', 99 % sure on average; none doubtful.',
    );
  });

  it('points out the least sure notes, and names an unsure harp as the condition', () => {
    const text = suretyInWords(
      { notes: notes(0.99, 0.3, 0.6), harp: { key: 'A', confidence: 0.6 } },
      'signs',
    );
    expect(plain(text)).toBe(
      ', of which about 1 may be wrong, if it is an A harp. Look first at [0:01] 4 (30 %), [0:02] 4 (60 %).',
    );
  });

  it('separates doubt about the hole from doubt that it is a note', () => {
    const [note] = notes(0.5);
    const other = { hole: 3, breath: 'draw' as const, bend: 0, over: false, confidence: 0.45 };
    expect(doubtOf(note)).toBe('note');
    expect(remarksOn(note, 'signs')).toEqual(['note?']);
    expect(remarksOn({ ...note, alternatives: [other] }, 'signs')).toEqual(['or -3?']);
  });
});

describe('what was left out', () => {
  const sound = (onsetSec: number, why: string) => ({ onsetSec, offsetSec: onsetSec + 0.2, why });

  it('is empty if nothing was', () => {
    expect(leftOutInWords([])).toEqual([]);
  });

  it('is listed by reason, with close ones as one stretch, and says how to keep it as notes', () => {
    expect(
      leftOutInWords([sound(0, 'talk'), sound(1, 'doubtful'), sound(1.9, 'talk'), sound(65, 'talk')]),
    ).toEqual([
      'Something may be missing at [0:01]: too faint or too short to be sure of.',
      'Left out: talk at [0:00] to [0:02] and [1:05] (3 sounds).',
      '`transcribe --keep-all` writes them as doubtful notes.',
    ]);
  });

  it('is only listed if the harp has no such note', () => {
    expect(leftOutInWords([sound(3, 'not-on-harp')])).toEqual([
      'Left out: not a note of this harp at [0:03] (1 sound).',
    ]);
  });

  it('is listed by its first three places if there are many', () => {
    const many = [0, 10, 20, 30, 40].map((sec) => sound(sec, 'noise'));
    expect(leftOutInWords(many)[0]).toBe(
      'Left out: noise, echo or something faint at [0:00], [0:10], [0:20] and 2 more places (5 sounds).',
    );
  });
});
