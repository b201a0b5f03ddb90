import { describe, expect, it } from 'vitest';
import { labelPhrases } from '../../src/music/repeats.ts';
import { parseTabToken } from '../../src/tab/text.ts';

const PHRASES = [
  { firstNote: 0, lastNote: 4 },
  { firstNote: 5, lastNote: 9 },
];
const played = (tab: string, midis: readonly number[]) =>
  tab.split(' ').map((sign, i) => ({ ...parseTabToken(sign)!, midi: midis[i] }));

describe('repeats', () => {
  // Draw 2 and blow 3 of a Richter harp are the same note (facts of the tuning; G4 on a C harp).
  it('from other holes are the same tune, with the holes that differ', () => {
    const melody = [67, 71, 69, 68, 67];
    const notes = played("-2 -3 -3'' -3''' -2 3 -3 -3'' -3''' 3", [
      ...melody,
      ...melody.map((midi) => midi + 0.1),
    ]);
    const [first, second] = labelPhrases(notes, PHRASES);
    expect([first.label, second.label]).toEqual(['A', "A'"]);
    expect(second.like?.differences).toEqual([
      { kind: 'changed', note: 5, other: 0 },
      { kind: 'changed', note: 9, other: 4 },
    ]);
  });

  it('of other notes are no repeats', () => {
    const notes = played("-2 -3 -3'' -3''' -2 4 -3 -3'' -3''' 4", [67, 71, 69, 68, 67, 72, 71, 69, 68, 72]);
    expect(labelPhrases(notes, PHRASES).map(({ label }) => label)).toEqual(['A', 'B']);
  });
});
