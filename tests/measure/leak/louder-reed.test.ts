import { describe, expect, it } from 'vitest';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { PlayableNote } from '../../../src/harp/types.ts';
import { heardAt } from '../../../src/measure/leak/louder-reed.ts';
import { eventOf, reedsIn, sound } from '../sounds.ts';

const C = playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 });

const blow = (hole: number): PlayableNote =>
  C.find((note) => note.hole === hole && note.breath === 'blow' && note.bend === 0 && !note.over)!;

/** 6 and 7 blow together, heard as 6 blow. */
function louderBeside6(levelDb: number) {
  const samples = sound(
    [
      { midi: blow(6).midi, levelDb: 0 },
      { midi: blow(7).midi + 0.05, levelDb },
    ],
    0.6,
    -50,
  );
  const readings = [[{ note: blow(6), probability: 1 }]];
  return reedsIn(samples, [eventOf(blow(6).midi, 0, 0.6)], readings, C)[0].louder;
}

describe('a second reed that is louder', () => {
  it('becomes the note, at its own pitch', () => {
    const louder = louderBeside6(8)!;
    expect(louder.midi).toBeCloseTo(blow(7).midi + 0.05, 1);
    expect(Math.abs(louder.levelDb - 8)).toBeLessThan(2);
  });

  it('does not if it is only as loud or softer', () => {
    for (const levelDb of [0, -6, -20]) expect(louderBeside6(levelDb)).toBeNull();
  });

  it('moves the pitch of the event with all its contour', () => {
    const event = eventOf((sec) => 79 + 0.2 * Math.sin(30 * sec), 0, 0.5, { harmonicityDb: -8 });
    const heard = heardAt(event, { midi: event.midi + 5, levelDb: 7 });
    expect(heard.contourMidi[7] - event.contourMidi[7]).toBeCloseTo(5, 4);
    expect(heard.f0Hz / event.f0Hz).toBeCloseTo(2 ** (5 / 12), 6);
    expect(heard.harmonicityDb).toBe(7);
  });
});
