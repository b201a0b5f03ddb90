import { describe, expect, it } from 'vitest';
import { emptyEvidence } from '../../../src/analysis/pitch/evidence.ts';
import { CANDIDATES, type Frames } from '../../../src/analysis/pitch/frames.ts';
import { sortPlayed } from '../../../src/analysis/playing/left-out.ts';
import { refusedSounds } from '../../../src/analysis/playing/refused.ts';
import { event } from '../../tab/hand-made.ts';

const sounding = { soundingNats: 4, strength: 2.5, harmonicityDb: 25 };
const note = (midi: number, onsetSec: number) =>
  event(midi, { ...sounding, onsetSec, offsetSec: onsetSec + 0.4, expectedMidi: Math.round(midi) });

describe('a sound that is not a note', () => {
  const HARP = [60, 62, 64];

  it('is reported as not on the harp if more than a semitone from all its notes, even with --keep-all', () => {
    const heard = { whole: [note(60, 0), note(65.1, 0.5), note(65, 1)], doubtful: [] };
    for (const keepAll of [false, true]) {
      const { events, leftOut } = sortPlayed(heard, [], HARP, keepAll);
      expect(events.map(({ midi }) => midi)).toEqual([60, 65]);
      expect(leftOut).toMatchObject([{ onsetSec: 0.5, why: 'not-on-harp' }]);
    }
  });

  it('is reported if the decoder refused it, and becomes a note, in order of time, if everything is kept', () => {
    const heard = { whole: [note(60, 0), note(62, 1)], doubtful: [] };
    const refused = [
      event(64, { ...sounding, soundingNats: 1, onsetNats: -0.5, onsetSec: 0.6, offsetSec: 0.7 }),
    ];
    expect(sortPlayed(heard, refused, HARP).leftOut).toMatchObject([{ onsetSec: 0.6, why: 'doubtful' }]);
    const kept = sortPlayed(heard, refused, HARP, true);
    expect(kept.leftOut).toEqual([]);
    expect(kept.events.map(({ midi }) => midi)).toEqual([60, 64, 62]);
    expect(kept.played[1]).toBeLessThan(0.7);
  });

  it('is a note after all if the network hears it begin, unless it is as soft as an echo', () => {
    const heard = { whole: [note(60, 0), note(62, 1)], doubtful: [] };
    const begun = { ...sounding, soundingNats: 0, onsetNats: 1, onsetSec: 0.6, offsetSec: 0.7 };
    const { levelDb } = heard.whole[0];
    const beginning = (db: number) =>
      sortPlayed(heard, [event(64, { ...begun, levelDb: levelDb + db })], HARP);
    expect(beginning(-6).events.map(({ midi }) => midi)).toEqual([60, 64, 62]);
    expect(beginning(-24).leftOut).toMatchObject([{ onsetSec: 0.6, why: 'noise' }]);
  });

  it('is doubtful only if it is loud, sounds and may have begun; else it is faint or an echo', () => {
    const heard = { whole: [note(60, 0), note(62, 1)], doubtful: [] };
    const { levelDb } = heard.whole[0];
    const why = (soundingNats: number, onsetNats: number, db: number): string => {
      const refused = event(64, {
        ...sounding,
        soundingNats,
        onsetNats,
        onsetSec: 0.6,
        offsetSec: 0.7,
        levelDb: levelDb + db,
      });
      return sortPlayed(heard, [refused], HARP).leftOut[0].why;
    };
    expect(why(2, -0.5, -6)).toBe('doubtful');
    expect(why(2, -0.5, -20)).toBe('noise');
    expect(why(-1, -0.5, -6)).toBe('noise');
    expect(why(2, -5, -6)).toBe('noise');
  });

  it('is noise if the network hears no pitch', () => {
    const refused = [event(64, { ...sounding, soundingNats: -6, onsetSec: 0.6, offsetSec: 0.7 })];
    expect(sortPlayed({ whole: [note(60, 0)], doubtful: [] }, refused, HARP).leftOut).toMatchObject([
      { why: 'noise' },
    ]);
  });
});

describe('sounds that the decoder refused', () => {
  /** A second of frames in which one pitch is heard over frames [from, to). */
  const frames = (midi: number, from: number, to: number): Frames => {
    const candidateMidi = new Float32Array(100 * CANDIDATES);
    const candidateStrength = new Float32Array(100 * CANDIDATES);
    for (let t = from; t < to; t++) {
      candidateMidi[t * CANDIDATES] = midi;
      candidateStrength[t * CANDIDATES] = 1.4;
    }
    return { hopSec: 0.01, count: 100, candidateMidi, candidateStrength, evidence: emptyEvidence(100, 0) };
  };

  it('are those of at least 60 ms that no note explains', () => {
    expect(refusedSounds(frames(69.2, 20, 40), [])).toMatchObject([{ fromTick: 40, toTick: 80 }]);
    expect(refusedSounds(frames(69.2, 20, 25), [])).toEqual([]);
    expect(refusedSounds(frames(69.2, 20, 40), [{ onsetSec: 0.15, offsetSec: 0.45, midi: 72 }])).toEqual([]);
  });

  it('are not the end of a note in a room, unless they are of another pitch', () => {
    const before = { onsetSec: 0, offsetSec: 0.2, midi: 69 };
    expect(refusedSounds(frames(69.2, 21, 40), [before])).toEqual([]);
    expect(refusedSounds(frames(72, 21, 40), [before])).toHaveLength(1);
  });
});
