import { describe, expect, it } from 'vitest';
import { arrange } from '../../src/arrange/arrange.ts';
import { changedNotes } from '../../src/arrange/learning.ts';
import { shortListOf } from '../../src/arrange/short-list.ts';
import { DEFAULT_WEIGHTS } from '../../src/arrange/weights.ts';
import { parseHarpKey } from '../../src/harp/keys.ts';
import { layoutById } from '../../src/harp/layouts.ts';
import { findPlayable, playableNotes } from '../../src/harp/playable.ts';
import { strokesOf } from '../check/student.ts';

const TAB = "-2 -3'' -3 4 -4 4 -3 -2 -2 -3'' -3 4 -4 5 -4 4 -4 4 -3 -2 -3'' -3 4 -4 5 -4 4 -3 -3'' -2 -2 -2";
const tab = strokesOf(TAB).map((stroke) => stroke.tab);
const harp = playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 });
const tune = {
  notes: tab.map((note) => ({
    midi: findPlayable(harp, note)!.midi,
    durationSec: 0.5,
    restSec: 0,
    breathSteps: 1,
  })),
  tonic: 7,
  tonicGuessed: false,
  tempoAssumed: false,
  lineStarts: [0],
};
const played = { harp: parseHarpKey('C'), layout: layoutById('richter'), tab };

describe('a tune with four hard bends on 3 draw', () => {
  const arrangement = arrange(tune as unknown as Parameters<typeof arrange>[0], { played });
  const answers = shortListOf(arrangement, played);

  it('is first offered in the same key with 3 blow raised: same pitch, four notes changed, no bend', () => {
    // Raising 3 blow by a tone gives what 3 draw gives bent by a tone (facts of the layout): no other note changes.
    const [first] = arrangement.candidates;
    expect(first).toMatchObject({ harp: { key: 'C', tuning: 'raised-third' }, octaveShift: 0, bends: 0 });
    expect(answers[0]).toMatchObject({ way: 'another-tuning', candidate: 0 });
    expect(answers[0].sentence).toContain('4 of 32 notes');
  });

  it('gets a short list of different kinds of answer, with practice last', () => {
    const ways = answers.map(({ way }) => way);
    expect(new Set(ways).size).toBe(ways.length);
    expect(ways).toContain('same-harp-elsewhere');
    expect(ways).toContain('another-key');
    expect(ways[ways.length - 1]).toBe('practice');
    for (const { sentence } of answers) expect(sentence).toMatch(/^[A-Z].*\.$/);
  });

  it('costs nothing to learn apart from the notes that move', () => {
    const same = arrangement.candidates.find(
      ({ harp: { key, tuning }, octaveShift }) => key === 'C' && tuning === 'richter' && octaveShift === 0,
    );
    expect(same!.learning).toBeCloseTo(DEFAULT_WEIGHTS.changedNote * changedNotes(same!.laid, tab), 9);
  });
});
