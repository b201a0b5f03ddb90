import { describe, expect, it } from 'vitest';
import { joinPieces } from '../../../src/analysis/playing/claim.ts';
import { event } from '../../tab/hand-made.ts';

describe('pieces of a note', () => {
  const note = event(67, { onsetSec: 1, offsetSec: 1.4 });
  const piece = event(67.2, { onsetSec: 1.42, offsetSec: 1.62 });
  const join = (after: typeof piece, probability: number) =>
    joinPieces({ events: [note, after], played: [0.9, 0.8], leftOut: [] }, [0.95, probability]);

  it('are joined to the note that they continue: its end is theirs, its pitch the mean weighted by length', () => {
    const { events, played } = join(piece, 0.05);
    expect(played).toEqual([0.9]);
    expect(events).toHaveLength(1);
    expect(events[0]).toMatchObject({ onsetSec: 1, offsetSec: 1.62 });
    expect(events[0].midi).toBeCloseTo(67 + 0.2 / 3, 5);
    expect(events[0].contourMidi).toHaveLength(62);
    expect(events[0].contourMidi[10]).toBe(67);
    expect(events[0].contourMidi[41]).toBeNaN();
    expect(events[0].contourMidi[50]).toBeCloseTo(67.2, 5);
    expect(events[0].heldSec[1]).toBe(piece.heldSec[1]);
  });

  it('stay separate if they are likely a re-articulation, have another pitch, or follow a pause', () => {
    expect(join(piece, 0.3).events).toEqual([note, piece]);
    const other = { ...piece, midi: 69 };
    expect(join(other, 0.05).events).toEqual([note, other]);
    const later = event(67.2, { onsetSec: 1.5, offsetSec: 1.7 });
    expect(join(later, 0.05).events).toEqual([note, later]);
  });
});
