import { describe, expect, it } from 'vitest';
import type { SoundEvent } from '../../../src/analysis/notes/events.ts';
import { joinFalls } from '../../../src/analysis/ornaments/join-falls.ts';
import { event } from '../../tab/hand-made.ts';

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

describe('falls', () => {
  it('a bend on the way up stays a note', () => {
    const held = event(71, { onsetSec: 0.1, offsetSec: 0.8, start: 'glide' });
    expect(joinFalls([sliding(69.8, 70.6, 0, 0.1, { start: 'gap' }), held])).toHaveLength(2);
  });

  it('a bend at the end of a breath that never rests is a fall of the note before', () => {
    const note = event(71, { onsetSec: 0, offsetSec: 0.7 });
    const fall = sliding(70.4, 69, 0.7, 0.85, { start: 'glide' });
    const after = event(72, { onsetSec: 1.2, start: 'silence' });
    const [joined, next] = joinFalls([note, fall, after]);
    expect([joined.onsetSec, joined.offsetSec, joined.midi]).toEqual([0, 0.85, 71]);
    expect(next).toEqual(after);
  });

  it('a bend from which another note is slurred stays a note', () => {
    const note = event(71, { onsetSec: 0, offsetSec: 0.7 });
    const bend = sliding(70.4, 69, 0.7, 0.85, { start: 'glide' });
    const after = event(74, { onsetSec: 0.85, start: 'slur' });
    expect(joinFalls([note, bend, after])).toHaveLength(3);
  });
});
