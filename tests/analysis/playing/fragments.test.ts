import { describe, expect, it } from 'vitest';
import { joinFragments } from '../../../src/analysis/playing/fragments.ts';
import { event } from '../../tab/hand-made.ts';

const gliding = (from: number, to: number, steps: number): Float32Array =>
  Float32Array.from({ length: steps }, (_, i) => from + ((to - from) * i) / (steps - 1));

/** A reed that is still starting: short, faint, and nowhere steady. */
const fragment = (from: number, to: number, onsetSec: number): ReturnType<typeof event> =>
  event((from + to) / 2, {
    onsetSec,
    offsetSec: onsetSec + 0.04,
    start: 'gap',
    dipDb: 9,
    harmonicityDb: 12,
    strength: 1.2,
    soundingNats: -2,
    expectedMidi: Math.round(to),
    contourMidi: gliding(from, to, 4),
  });

describe('fragments of notes', () => {
  it('the beginning of a note is joined to it, with its onset and how it began', () => {
    const note = event(67, { onsetSec: 1.04, offsetSec: 1.6, start: 'glide', dipDb: 0.2 });
    const [whole, ...rest] = joinFragments([fragment(66.2, 66.8, 1), note]).whole;
    expect(rest).toEqual([]);
    expect(whole).toMatchObject({ onsetSec: 1, offsetSec: 1.6, start: 'gap', dipDb: 9, midi: 67 });
    expect(whole.contourMidi).toHaveLength(60);
    expect(whole.contourMidi[0]).toBeCloseTo(66.2, 5);
    expect(whole.contourMidi[4]).toBe(67);
  });

  it('the end of a note is joined to the note before', () => {
    const note = event(67, { onsetSec: 1, offsetSec: 1.5 });
    const joined = joinFragments([note, fragment(66.9, 66.3, 1.5)]).whole;
    expect(joined.map(({ onsetSec, offsetSec }) => [onsetSec, offsetSec])).toEqual([[1, 1.54]]);
  });

  it('a sound between two notes that belongs to neither is left out, and both notes stay unchanged', () => {
    const notes = [event(60, { offsetSec: 0.5 }), event(67, { onsetSec: 0.54, offsetSec: 1 })];
    expect(joinFragments([notes[0], fragment(62.5, 64.6, 0.5), notes[1]]).whole).toEqual(notes);
  });

  it('short notes that are steady and clear are notes', () => {
    const quick = [0, 1, 2, 3].map((i) =>
      event(60 + 2 * i, { onsetSec: 0.09 * i, offsetSec: 0.09 * i + 0.08, start: 'gap', dipDb: 20 }),
    );
    expect(joinFragments(quick).whole).toEqual(quick);
    expect(joinFragments([]).whole).toEqual([]);
  });
});
