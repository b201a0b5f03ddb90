import { describe, expect, it } from 'vitest';
import type { HarpSpec } from '../../src/harp/types.ts';
import { findHarp } from '../../src/holes/find-harp.ts';
import { centsBetween } from '../../src/units.ts';
import { harp, playedOn } from '../tab/hand-made.ts';

const PLAIN = { temperament: 'equal', a4Hz: 440 } as const;
/** Intonation of an ordinary player, in turn. */
const CENTS = [-6, 4, 8, -3, 0, -9, 5];

/** Second position with bends over two octaves (our own). */
const CROSS = "-2 -3' 4 -4 -4' 4 -3' -2 | -2'' -2 -1 2 -2 | -4 5 -5 6 -6 6 -5 -4 | -2 -2 -3'' -3 4 -2";
/** First position, a scale up and down over all the harp (our own). */
const STRAIGHT = '1 -1 2 3 4 -4 5 -5 6 -6 -7 7 | 7 -8 8 -9 9 -10 10 | 6 5 4 -4 4 3 2 1 -1 1';

const found = (spec: HarpSpec, tab: string) => findHarp(playedOn(spec, tab, CENTS), PLAIN);

describe('key', () => {
  it.each(['G', 'Ab', 'A', 'Bb', 'B', 'C', 'Db', 'D', 'Eb', 'E', 'F', 'F#'])('%s, second position', (key) => {
    const [first] = found(harp(key), CROSS);
    expect(first).toMatchObject({ key, tuning: 'richter' });
    expect(first.confidence).toBeGreaterThan(0.5);
  });

  it.each(['G', 'Bb', 'C', 'D', 'F'])('%s, first position over the whole harp', (key) => {
    expect(found(harp(key), STRAIGHT)[0]).toMatchObject({ key, tuning: 'richter' });
  });

  it.each(['low C', 'low F', 'low D', 'high G', 'high A'])('%s: the register too', (key) => {
    expect(found(harp(key), STRAIGHT)[0]).toMatchObject({ key, tuning: 'richter' });
  });

  it.each(['C', 'A', 'D', 'Bb'])(
    '%s: a tune in 1st position with few plain notes that other harps have too',
    (key) => {
      const [first] = found(harp(key), '4 -4 5 -4 4 | 5 6 5 -4 4 4');
      expect(first).toMatchObject({ key, tuning: 'richter' });
      expect(first.confidence).toBeGreaterThan(0.5);
    },
  );

  // Sur le pont d'Avignon, traditional, three times: all its notes are on a solo harp too, the C on two holes.
  it('a keynote on two holes of another tuning does not make that tuning likelier', () => {
    const refrain = '4 4 4 -4 -4 -4 5 -5 6 4 -3 4 -4 3 | 4 4 4 -4 -4 -4 5 -5 6 4 -4 -3 4';
    const verse = '4 4 4 -4 4 4 | 4 4 4 -4 4';
    const [first] = found(harp('C'), [refrain, verse, refrain, verse, refrain].join(' | '));
    expect(first).toMatchObject({ key: 'C', tuning: 'richter' });
    expect(first.confidence).toBeGreaterThan(0.9);
  });

  it('a high harp that nobody sells is very unlikely', () => {
    const guesses = found(harp('D'), '7 -8 8 -8 7 | 8 9 8 -8 7 7');
    expect(guesses.slice(0, 3).map((guess) => guess.key)).not.toContain('high A');
    expect(guesses[0]).toMatchObject({ key: 'D', tuning: 'richter' });
  });

  it('of harps that explain a few notes alike the more usual one is likelier', () => {
    const guesses = found(harp('Eb'), '4 -4 4');
    const at = (key: string): number => guesses.find((guess) => guess.key === key)?.confidence ?? 0;
    expect(guesses[0].key).not.toBe('Eb');
    expect(at('Eb')).toBeGreaterThan(0);
    expect(found(harp('C'), '4 -4 4')[0].key).toBe('C');
  });

  it('a repeat after a gap is no sign of a change of breath', () => {
    const tab = '1 -1 -1 -1 1 -1 -1 -1 1 -1';
    const events = playedOn(harp('C'), tab, CENTS).map((event) => ({
      ...event,
      start: 'gap' as const,
      dipDb: 14,
    }));
    const guesses = findHarp(events, PLAIN);
    expect(guesses[0]).toMatchObject({ key: 'C', tuning: 'richter' });
  });

  it('notes that agree with each other do not make a harp likely on which their reed would be far out of tune', () => {
    // A whole tone, again and again: G, on which the lower note would be a 2 blow a semitone sharp, has neither.
    const events = playedOn(harp('C'), '1 -1 1 -1 1 -1 1 -1 1 -1 1 -1', [-23, 0]);
    const guesses = findHarp(events, PLAIN);
    expect(guesses[0]).toMatchObject({ key: 'C', tuning: 'richter' });
  });

  it('a short tune on plain notes of the middle leaves real rivals, which are named', () => {
    const guesses = found(harp('C'), '4 -4 5 -4 4');
    expect(guesses[0].confidence).toBeLessThan(0.95);
    expect(guesses.some(({ key, tuning }) => key === 'C' && tuning === 'richter')).toBe(true);
    expect(guesses.length).toBeGreaterThan(3);
  });
});

describe('tuning', () => {
  it.each([
    ['natural-minor', '-2 -3 4 -4 5 -5 6 -6 6 -5 5 -4 4 -3 -2 | 2 -2 -3 2 1 -1 2 -2 | 6 -6 -7 7 -8 8 8 -8 7'],
    // The raised 5 draw, which is a 5 overblow on a Richter harp, again and again, and the top, which a G harp lacks.
    ['country', `-4 5 -5 6 -5 5 -4 4 -3 -2 | -5 6 -6 -5 5 -5 6 | ${STRAIGHT}`],
    // The low octave again and again, where a Richter harp needs two bends; the top, which a low Richter lacks.
    [
      'solo',
      '1 -1 2 -2 3 -3 -4 4 | 4 -4 -3 3 -2 2 -1 1 | -2 -3 -2 3 -3 -4 -3 -2 | 5 -5 6 -6 7 -7 -8 8 -9 10 -10 -9 8 | 2 -2 3 -3 3',
    ],
  ])('%s', (tuning, tab) => {
    for (const key of ['C', 'A']) expect(found(harp(key, { tuning }), tab)[0]).toMatchObject({ key, tuning });
  });
});

describe('A4', () => {
  it.each([440, 442, 443])(
    '%i Hz is found with the harp, accurately enough for the fit that follows',
    (a4Hz) => {
      const [first] = findHarp(playedOn(harp('A', { a4Hz }), CROSS, CENTS), { temperament: 'equal' });
      expect(first).toMatchObject({ key: 'A', tuning: 'richter' });
      expect(Math.abs(centsBetween(first.a4Hz, a4Hz))).toBeLessThan(10);
    },
  );

  it('a recording that runs slow by a third of a semitone is still recognised', () => {
    const slow = playedOn(harp('D'), CROSS, CENTS).map((event) => ({ ...event, midi: event.midi - 0.33 }));
    const [first] = findHarp(slow, { temperament: 'equal' });
    expect(first).toMatchObject({ key: 'D', tuning: 'richter' });
    expect(first.a4Hz).toBeLessThan(435);
  });
});

/** Notes of takes that are all exercise: a stair of bends, and overblows between their natural notes (our own). */
const STAIRS = "-3 ~-3' ~-3'' ~-3''' | -2 ~-2' ~-2'' | -4' | -6' | -1' | -3''";
const OVERBLOWS = '4 | 4o | -4 | 5 | 5o | 6 | 6o | -7 -8 | -7o | 7';
/** How far bends miss, in turn: no reed scatters so. */
const MISSED = [0, -30, 27, -41, 0, 18, 12, -20, -12, 38, -55];

describe('exercises', () => {
  it.each(['A', 'Bb', 'C', 'D'])('%s: bends that miss by up to half a semitone', (key) => {
    const [first] = findHarp(playedOn(harp(key), STAIRS, MISSED), { temperament: 'equal' });
    expect(first).toMatchObject({ key, tuning: 'richter' });
  });

  it.each(['A', 'Bb', 'C'])('%s: overblows are among the first three', (key) => {
    const cents = [3, -11, -2, 4, 14, -1, 2, -8, 3, -4, -9, 0];
    const guesses = findHarp(playedOn(harp(key), OVERBLOWS, cents), { temperament: 'equal' });
    expect(guesses.slice(0, 3).map((guess) => `${guess.key} ${guess.tuning}`)).toContain(`${key} richter`);
  });

  it('partials taken for notes above the harp change nothing', () => {
    const events = playedOn(harp('Db'), STRAIGHT, CENTS);
    const ghosts = [3, 9, 20].map((i) => ({ ...events[i], midi: events[i].midi + 28 }));
    const [first] = findHarp([...events, ...ghosts], { temperament: 'equal' });
    expect(first).toMatchObject({ key: 'Db', tuning: 'richter' });
  });
});

describe('what the player said', () => {
  it('a named tuning is the only one that is tried', () => {
    const events = playedOn(harp('A', { tuning: 'natural-minor' }), '-2 -3 4 -4 5 -5 6 -6 6 -5 5 -4 4 -3 -2');
    const guesses = findHarp(events, { ...PLAIN, tuning: 'natural-minor' });
    expect(new Set(guesses.map(({ tuning }) => tuning))).toEqual(new Set(['natural-minor']));
    expect(guesses[0].key).toBe('A');
  });

  it('a named key is the only one that is tried', () => {
    const events = playedOn(harp('G'), CROSS);
    const guesses = findHarp(events, { ...PLAIN, key: 'D' });
    expect(new Set(guesses.map(({ key }) => key))).toEqual(new Set(['D']));
  });

  it('a harp tuned to 452 Hz is detected when A4 is given', () => {
    const events = playedOn(harp('Bb', { a4Hz: 452 }), CROSS, CENTS);
    expect(findHarp(events, { ...PLAIN, a4Hz: 452 })[0].key).toBe('Bb');
  });
});

describe('the list', () => {
  it('falls in confidence, sums to at most 1, names no harp twice and holds at most ten', () => {
    const guesses = found(harp('C'), '4 -4 5 6 5 -4 4');
    expect(guesses.length).toBeLessThanOrEqual(10);
    expect(new Set(guesses.map(({ key, tuning }) => `${key} ${tuning}`)).size).toBe(guesses.length);
    for (let i = 1; i < guesses.length; i++) {
      expect(guesses[i].confidence).toBeLessThanOrEqual(guesses[i - 1].confidence);
    }
    expect(guesses.reduce((sum, { confidence }) => sum + confidence, 0)).toBeLessThanOrEqual(1 + 1e-9);
  });

  it('more music makes it surer', () => {
    const once = found(harp('C'), "-2 -3' 4 -4 -2")[0];
    const often = found(harp('C'), `${CROSS} | ${CROSS}`)[0];
    expect(often.confidence).toBeGreaterThan(once.confidence);
  });

  it('makes no guess if nothing was heard', () => {
    expect(findHarp([], PLAIN)).toEqual([]);
  });
});
