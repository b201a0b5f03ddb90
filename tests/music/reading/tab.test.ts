import { describe, expect, it } from 'vitest';
import { playableNotes } from '../../../src/harp/playable.ts';
import { melodyFromTab } from '../../../src/music/reading/tab.ts';
import { melodyFromTake } from '../../../src/music/reading/take.ts';
import { parseTab } from '../../../src/tab/text-file.ts';

const C = playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 });
const read = (text: string) => melodyFromTab(parseTab(text), C, 'a C harp');

describe('tab as a melody', () => {
  it('has the pitches of the harp and the lengths of the file', () => {
    // C harp: 4 = C5, -3'' = A4, 6o = Bb5
    const { melody, tab } = read("4:0.5 r:1 -3'':2 | ~-3'':1\n6o -4");
    expect(melody.notes).toEqual([
      { midi: 72, onsetBeats: 0, durationBeats: 0.5 },
      { midi: 69, onsetBeats: 1.5, durationBeats: 3 },
      { midi: 82, onsetBeats: 4.5, durationBeats: 1 },
      { midi: 74, onsetBeats: 5.5, durationBeats: 1 },
    ]);
    expect(melody.lineStarts).toEqual([0, 2]);
    expect(tab).toHaveLength(4);
    expect(melody.remarks).toEqual([]);
    expect(read('oh dear\n4 5').melody.remarks).toEqual([
      'the tab gives no note lengths: every note counts as one beat',
      'read as words, not tab: line 1',
    ]);
  });

  it.each([
    ["4 -4''", /line 1, column 3: a C harp has no draw bend of 2 semitones on hole 4/],
    ["4\n 4'", /line 2, column 2: a C harp has no blow bend of 1 semitone on hole 4/],
    ['4 7o', /no overblow on hole 7/],
  ])('%j names what the harp has not', (text, message) => {
    expect(() => read(text)).toThrow(
      expect.objectContaining({ code: 'E_TAB_INVALID', message: expect.stringMatching(message) }),
    );
  });
});

describe('a take as a melody', () => {
  it('has the pitches that were meant, in seconds, and one note at a time', () => {
    const note = { hole: 3, breath: 'draw', bend: 2, over: false, midi: 69.4 } as const;
    const { melody } = melodyFromTake(
      {
        notes: [
          { ...note, onsetSec: 1, offsetSec: 2.5 },
          { ...note, bend: 0, onsetSec: 2, offsetSec: 3, midi: 70.9 },
        ],
        phrases: [
          { firstNote: 0, lastNote: 0 },
          { firstNote: 1, lastNote: 1 },
        ],
      },
      C,
    );
    expect(melody.notes).toEqual([
      { midi: 69, onsetBeats: 0, durationBeats: 1 },
      { midi: 71, onsetBeats: 1, durationBeats: 1 },
    ]);
    expect(melody).toMatchObject({ beatsPerMinute: 60, lineStarts: [0, 1] });
  });
});
