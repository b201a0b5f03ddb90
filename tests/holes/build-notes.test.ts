import { describe, expect, it } from 'vitest';
import type { SoundEvent } from '../../src/analysis/notes/events.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import { buildNotes, type NoteMeasured } from '../../src/holes/build-notes.ts';
import { type HoleReading, readHoles } from '../../src/holes/holes.ts';
import { BREATH_DIP_DB, event, harp, noteOf, playedOn, SLUR_DIP_DB, signs } from '../tab/hand-made.ts';

const NOTES = playableNotes(harp('C'));
const NOTHING: NoteMeasured = { intonation: null, leak: null, flags: [] };
const reading = (sign: string, probability = 1): HoleReading => ({ note: noteOf(NOTES, sign), probability });

const build = (
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  played = events.map(() => 1),
  measured = events.map(() => NOTHING),
) => buildNotes(events, readings, played, measured);

describe('the notes of a take', () => {
  it('are numbered in order and keep what was heard', () => {
    const events = playedOn(harp('C'), "4 -4 -3''", [0, 10, -20]);
    const notes = build(events, readHoles(events, NOTES));
    expect(notes.map(({ id }) => id)).toEqual(['n1', 'n2', 'n3']);
    expect(signs(notes)).toBe("4 -4 -3''");
    notes.forEach((note, i) => {
      const { onsetSec, offsetSec, f0Hz, midi, levelDb, harmonicityDb } = events[i];
      expect(note).toMatchObject({ onsetSec, offsetSec, f0Hz, midi, levelDb, harmonicityDb });
    });
    // Measured minus target: 10 cents high, 20 cents low.
    expect(notes.map(({ cents }) => Math.round(cents))).toEqual([0, 10, -20]);
  });

  it('are judged by their harp: a 5 draw 29 cents below equal is in tune on a 7-limit harp', () => {
    const spec = harp('C', { temperament: 'just-7-limit' });
    const events = [event(77 - 0.29219)]; // 21/16 [calc]
    const [note] = build(events, readHoles(events, playableNotes(spec)));
    expect(signs([note])).toBe('-5');
    expect(note.cents).toBeCloseTo(0, 2);
    const [onEqual] = build(events, readHoles(events, NOTES));
    expect(onEqual.cents).toBeCloseTo(-29.219, 2);
  });

  it('contain what was measured', () => {
    const measured: NoteMeasured = {
      intonation: { steadinessCents: 3, driftCentsPerSec: -2, scoopCents: 0, scoopSec: 0 },
      leak: { hole: 5, levelDb: -14 },
      flags: ['heard-so'],
    };
    const [note] = build([event(72)], [[reading('4')]], [1], [measured]);
    expect(note).toMatchObject({ intonation: measured.intonation, leak: measured.leak });
    expect(note.flags).toEqual(['heard-so']);
  });
});

describe('confidence', () => {
  const readings = [[reading('-2', 0.6), reading('3', 0.3), reading('-1', 0.1)]];

  it('is that of the hole times that of having been played at all', () => {
    const [note] = build([event(67)], readings, [0.5]);
    expect(note.confidence).toBeCloseTo(0.3, 12);
    expect(note.alternatives.map(({ confidence }) => confidence)).toEqual([
      expect.closeTo(0.15, 12),
      expect.closeTo(0.05, 12),
    ]);
    expect(signs(note.alternatives)).toBe('3 -1');
  });

  it('below 0.7 the hole is flagged as doubtful', () => {
    expect(build([event(67)], readings)[0].flags).toContain('doubtful-hole');
    expect(build([event(72)], [[reading('4', 0.72)]])[0].flags).not.toContain('doubtful-hole');
    expect(build([event(72)], [[reading('4', 0.68)]])[0].flags).toContain('doubtful-hole');
  });
});

describe('how a note began', () => {
  it.each([
    ['after silence', 'silence', 0, '4', '4', 'silence'],
    ['at a change of breath', 'gap', BREATH_DIP_DB, '4', '-4', 'breath'],
    ['at a change of breath, though it sounds like a slur', 'slur', SLUR_DIP_DB, '4', '-4', 'breath'],
    ['repeated', 'rearticulation', BREATH_DIP_DB, '4', '4', 'tongue'],
    ['bent to', 'glide', SLUR_DIP_DB, '-3', "-3''", 'glide'],
    ['slurred to the next hole', 'slur', SLUR_DIP_DB, '4', '5', 'slur'],
    ['tongued on the next hole', 'slur', BREATH_DIP_DB, '4', '5', 'tongue'],
    ['over holes', 'slur', SLUR_DIP_DB, '4', '6', 'jump'],
    ['a bend attacked anew', 'gap', BREATH_DIP_DB, '-3', "-3''", 'tongue'],
  ] as const)('%s', (_, start, dipDb, first, second, expected) => {
    const events = [event(60), event(62, { start, dipDb, onsetSec: 0.4 })];
    const notes = build(events, [[reading(first)], [reading(second)]]);
    expect(notes[0].start).toBe('silence');
    expect(notes[1].start).toBe(expected);
  });
});

it('no events give no notes', () => {
  expect(build([], [])).toEqual([]);
});
