import { describe, expect, it } from 'vitest';
import { Samples } from '../../src/audio/samples.ts';
import { measureNotes } from '../../src/measure/notes.ts';
import { reedOffsetOf, reedOffsets } from '../../src/measure/reed-offsets.ts';
import { measureTone } from '../../src/measure/tone.ts';
import { hzToMidi } from '../../src/units.ts';
import { noPause } from '../analysis/tones.ts';
import { eventOf, harp, noteOf, RATE, sound, sure } from './sounds.ts';

const C = harp();

describe('how single reeds are tuned', () => {
  const draw4 = noteOf(C, 4, 'draw');
  const held = (cents: readonly number[], note = draw4) =>
    cents.map((off) => ({ note, midi: note.midi + off / 100, heldSec: 0.4, sure: 0.95 }));

  it('a reed that is 14 cents flat in each of its notes is off, and so are its bends', () => {
    const offsets = reedOffsets([
      ...held([-13, -14, -15, -14, -13]),
      ...held([1, -2, 0, 2], noteOf(C, 4, 'blow')),
    ]);
    expect(reedOffsetOf(offsets, draw4)).toBeCloseTo(-14, 6);
    expect(reedOffsetOf(offsets, noteOf(C, 4, 'draw', 1))).toBeCloseTo(-14, 6);
    expect(reedOffsetOf(offsets, noteOf(C, 4, 'blow'))).toBe(0);
  });

  it('an overblow sounds the draw reed of its hole', () => {
    const over = C.find((note) => note.hole === 4 && note.over)!;
    expect(reedOffsetOf(reedOffsets(held([-14, -14, -14, -15])), over)).toBeCloseTo(-14, 6);
  });

  it('scattered notes, only two notes, or short ones blame no reed', () => {
    expect(reedOffsets(held([-7, 5, 8, -4, 6, 7])).size).toBe(0);
    expect(reedOffsets(held([-15, -15])).size).toBe(0);
    expect(reedOffsets(held([-15, -15, -15, -15]).map((note) => ({ ...note, heldSec: 0.05 }))).size).toBe(0);
  });
});

describe('a note that may have been struck twice', () => {
  const flagsOf = async (nats: number, sec: number): Promise<readonly string[]> => {
    const note = noteOf(C, 4, 'blow');
    const one = { ...eventOf(note.midi, 0, 0.4), again: { nats, sec } };
    const [{ flags }] = await measureNotes(
      sound([{ midi: note.midi, levelDb: 0 }], 0.4, -40),
      [one],
      [sure(note)],
      C,
      noPause,
    );
    return flags;
  };

  it('is flagged if the evidence is strong and both would be long enough to play', async () => {
    expect(await flagsOf(-1, 0.2)).toContain('maybe-two');
    expect(await flagsOf(-1.8, 0.2)).not.toContain('maybe-two');
    expect(await flagsOf(-1, 0.05)).not.toContain('maybe-two');
    expect(await flagsOf(-1, 0.35)).not.toContain('maybe-two');
  });
});

describe('measures of notes', () => {
  it('a just harp (7-limit) at 443 Hz played perfectly is in tune on itself', async () => {
    const just = harp({ temperament: 'just-7-limit', a4Hz: 443 });
    const reeds = just.filter((note) => note.bend === 0 && !note.over);
    for (const [i, note] of reeds.entries()) {
      if (i % 4 !== 0) continue;
      const midi = hzToMidi(note.f0Hz);
      const [{ cents, leak }] = await measureNotes(
        sound([{ midi, levelDb: 0 }], 0.4, -40),
        [eventOf(midi, 0, 0.4)],
        [sure(note)],
        just,
        noPause,
      );
      expect(Math.abs(cents)).toBeLessThan(0.05);
      expect(leak).toBeNull();
    }
  });

  it('a whole-tone bend that goes down only 140 cents has that depth and is 60 cents high', async () => {
    const bend = noteOf(C, 3, 'draw', 2);
    const midi = bend.midi + 0.6;
    const [found] = await measureNotes(
      sound([{ midi, levelDb: 0 }], 0.5, -40),
      [eventOf(midi, 0, 0.5)],
      [sure(bend)],
      C,
      noPause,
    );
    expect(found.cents).toBeCloseTo(60, 1);
    expect(found.intonation?.depthCents).toBeCloseTo(140, 1);
  });

  it('a measure hidden by noise is left out, with the reason', async () => {
    const note = noteOf(C, 4, 'blow');
    const [found] = await measureNotes(
      sound([{ midi: note.midi, levelDb: 0 }], 0.5),
      [eventOf(note.midi, 0, 0.5, { harmonicityDb: -5 })],
      [sure(note)],
      C,
      noPause,
    );
    expect(found).toMatchObject({ intonation: null, leak: null, flags: ['too-noisy-to-judge'] });
    expect(found.tone).toBeUndefined();
  });

  it('a measure for which the note is too short is left out, with the reason', async () => {
    const note = noteOf(C, 4, 'blow');
    const event = eventOf(note.midi, 0, 0.09, { heldSec: [0.036, 0.072] });
    const [found] = await measureNotes(
      sound([{ midi: note.midi, levelDb: 0 }], 0.09),
      [event],
      [sure(note)],
      C,
      noPause,
    );
    expect(found).toMatchObject({ intonation: null, flags: ['too-short-to-judge'] });
  });
});

describe('tone', () => {
  /** A sine whose level grows from nothing to full in a straight line in dB, 30 dB over `attackSec`. */
  const growing = (attackSec: number): Samples => {
    const data = Float32Array.from({ length: RATE }, (_, n) => {
      const sec = n / RATE - 0.2;
      const levelDb = sec < 0 ? -80 : Math.min(0, -30 + (30 * sec) / attackSec);
      return 0.2 * 10 ** (levelDb / 20) * Math.sin((2 * Math.PI * 523 * n) / RATE);
    });
    return Samples.from(data, RATE);
  };
  const levelDb = 20 * Math.log10(0.2 / Math.SQRT2);

  it.each([0.05, 0.1, 0.2])(
    'an attack of 30 dB in %d s passes from -15 to -3 dB in 12/30 of it',
    (attackSec) => {
      const event = eventOf(72, 0.2 + attackSec / 2, 1, { levelDb });
      const tone = measureTone(growing(attackSec), event);
      expect(Math.abs(tone.attackSec! - 0.4 * attackSec)).toBeLessThan(0.012); // steps of 5 ms, windows of 10
      expect(tone.levelSpreadDb).toBeLessThan(0.2);
    },
  );

  it('a note that does not begin from below has no attack', () => {
    expect(measureTone(growing(0.05), eventOf(72, 0.5, 1, { levelDb })).attackSec).toBeNull();
  });

  it('a swell of 6 dB over the note is uneven by its middle 68 %', () => {
    const data = Float32Array.from(
      { length: RATE },
      (_, n) => 0.1 * 10 ** ((6 * n) / RATE / 20) * Math.sin(n * 0.15),
    );
    const { levelSpreadDb } = measureTone(Samples.from(data, RATE), eventOf(72, 0, 1));
    expect(Math.abs(levelSpreadDb - 0.34 * 6 * 0.9)).toBeLessThan(0.15); // the held part is 0.9 s
  });
});
