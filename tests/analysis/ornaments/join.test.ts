import { describe, expect, it } from 'vitest';
import type { SoundEvent } from '../../../src/analysis/notes/events.ts';
import { reedSets } from '../../../src/analysis/notes/pitches.ts';
import { joinShakes } from '../../../src/analysis/ornaments/join-shakes.ts';
import { joinSlides } from '../../../src/analysis/ornaments/join-slides.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { event, harp } from '../../tab/hand-made.ts';

const notes = playableNotes(harp('C'));
const sets = reedSets(notes);
const D5 = 74;
const F5 = 77;

/** Draw 4 and 5 of a C harp (D5 and F5, see the layout table of a Richter harp) in turn. */
function turns(count: number, perSec: number, dipDb: number, first = 0): SoundEvent[] {
  return Array.from({ length: count }, (_, i) =>
    event(i % 2 === 0 ? D5 : F5, {
      onsetSec: first + i / perSec,
      offsetSec: first + (i + 1) / perSec,
      start: i === 0 ? 'silence' : 'slur',
      dipDb,
    }),
  );
}

describe('shakes', () => {
  it('two next holes in quick turn become one event with both, its rate and its length', () => {
    const [shake, ...others] = joinShakes(turns(12, 12, 0.5), sets);
    expect(others).toEqual([]);
    expect(shake.set).toMatchObject({ holes: [4, 5], breath: 'draw', shake: true });
    expect(shake.notesPerSec).toBeCloseTo(12, 1);
    expect([shake.onsetSec, shake.offsetSec]).toEqual([0, 1]);
  });

  it.each([
    ['tongued', turns(12, 12, 12)],
    ['too few', turns(4, 12, 0.5)],
    ['slow', turns(12, 5, 0.5)],
    ['with a gap after each', turns(12, 6, 0.5).map((one) => ({ ...one, offsetSec: one.onsetSec + 0.1 }))],
  ])('notes that are %s stay notes', (_, played) => {
    expect(joinShakes(played, sets)).toEqual(played);
  });

  it('leave what comes before and after as it is', () => {
    const before = event(72, { onsetSec: 0, offsetSec: 0.5 });
    const after = event(72, { onsetSec: 2, offsetSec: 2.5 });
    const all = joinShakes([before, ...turns(12, 12, 0.5, 0.6), after], sets);
    expect(all).toHaveLength(3);
    expect([all[0], all[2]]).toEqual([before, after]);
  });
});

/** A pitch that goes evenly from one to another within its event. */
function sliding(
  from: number,
  to: number,
  onsetSec: number,
  offsetSec: number,
  change: Partial<SoundEvent>,
): SoundEvent {
  const count = Math.floor((offsetSec - onsetSec) * 100);
  const contourMidi = Float32Array.from({ length: count }, (_, i) => from + ((to - from) * i) / count);
  return event((from + to) / 2, { onsetSec, offsetSec, contourMidi, ...change });
}

describe('slides', () => {
  it('a bend on the way up stays a note', () => {
    const held = event(71, { onsetSec: 0.1, offsetSec: 0.8, start: 'glide' });
    expect(joinSlides([sliding(69.8, 70.6, 0, 0.1, { start: 'gap' }), held])).toHaveLength(2);
  });

  it('a bend that rests nowhere at the end of a breath is a fall of the note before', () => {
    const note = event(71, { onsetSec: 0, offsetSec: 0.7 });
    const fall = sliding(70.4, 69, 0.7, 0.85, { start: 'glide' });
    const after = event(72, { onsetSec: 1.2, start: 'silence' });
    const [joined, next] = joinSlides([note, fall, after]);
    expect([joined.onsetSec, joined.offsetSec, joined.midi]).toEqual([0, 0.85, 71]);
    expect(next).toEqual(after);
  });

  it('a bend that another note is slurred from stays', () => {
    const note = event(71, { onsetSec: 0, offsetSec: 0.7 });
    const bend = sliding(70.4, 69, 0.7, 0.85, { start: 'glide' });
    const after = event(74, { onsetSec: 0.85, start: 'slur' });
    expect(joinSlides([note, bend, after])).toHaveLength(3);
  });
});
