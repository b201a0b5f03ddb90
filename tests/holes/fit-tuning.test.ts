import { describe, expect, it } from 'vitest';
import type { SoundEvent } from '../../src/analysis/notes/events.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import { temperamentById } from '../../src/harp/temperaments.ts';
import { a4OfFewNotes, fitTuning, type TuningFit, tuningRemarks } from '../../src/holes/fit-tuning.ts';
import { readHoles } from '../../src/holes/holes.ts';
import { harp, playedOn } from '../tab/hand-made.ts';

/** Each reed more than once, thirds and fourths among them. */
const TUNE = '1 -1 2 3 -3 4 -4 5 -5 6 -6 -7 7 | 7 -8 8 -9 9 -10 10 | -5 5 -4 4 | 5 -5 6 -6 6 -5 5 2 3 -3 4';
/** What breath does to a reed from note to note, in cents. */
const WANDER = [1, -2, 2, 0, -1, 3, -3];

interface Played {
  readonly temperament?: string;
  readonly a4Hz?: number;
  readonly key?: string;
  readonly tab?: string;
  readonly cents?: readonly number[];
}

/** What the tune says of the harp that it was played on, read on an equal harp of about that pitch. */
function fitted(
  { temperament = 'equal', a4Hz = 440, key = 'C', tab = TUNE, cents = WANDER }: Played,
  given: Parameters<typeof fitTuning>[3] = {},
): TuningFit | null {
  const events = playedOn(harp(key, { temperament, a4Hz }), tab, cents);
  return fitTuning(events, readHoles(events, playableNotes(harp(key, { a4Hz }))), key, given);
}

describe('reference pitch and temperament', () => {
  it.each([440, 442, 445, 432])('equal at %d Hz', (a4Hz) => {
    const fit = fitted({ a4Hz })!;
    expect(fit.temperament).toBe('equal');
    expect(fit.told).toBe(true);
    expect(Math.abs(fit.a4Hz - a4Hz)).toBeLessThan(0.4); // 1.6 cents
  });

  it('just intonation for second position (7-limit) at 443 Hz, as harps are often tuned', () => {
    const fit = fitted({ temperament: 'just-7-limit', a4Hz: 443 })!;
    expect(fit.temperament).toBe('just-7-limit');
    expect(fit.told).toBe(true);
    expect(Math.abs(fit.a4Hz - 443)).toBeLessThan(0.4);
  });

  it.each(['just-1st', 'just-7-limit', 'just-3rd', 'compromise'])(
    '%s is distinguished from equal in every key',
    (temperament) => {
      for (const key of ['G', 'C', 'F#', 'low D']) {
        const fit = fitted({ temperament, key, a4Hz: 441 })!;
        expect(fit.told, key).toBe(true);
        expect(fit.temperament, key).toBe(temperament);
        expect(Math.abs(fit.a4Hz - 441)).toBeLessThan(0.5);
      }
    },
  );

  it('19-limit is distinguished from equal; from the compromise it differs by one interval of 3.378 cents [calc]', () => {
    const fit = fitted({ temperament: '19-limit', a4Hz: 441 })!;
    expect(fit.told).toBe(true);
    expect(['19-limit', 'compromise']).toContain(fit.temperament);
  });

  it('one reed 35 cents out does not move the rest', () => {
    const events = playedOn(harp('C', { a4Hz: 442 }), TUNE, WANDER).map((event) =>
      Math.round(event.midi) === 76 ? { ...event, midi: event.midi - 0.35 } : event,
    );
    const fit = fitTuning(events, readHoles(events, playableNotes(harp('C', { a4Hz: 442 }))), 'C', {})!;
    expect(Math.abs(fit.a4Hz - 442)).toBeLessThan(0.5);
  });
});

describe('the temperament remains unknown', () => {
  it('with fewer than six natural notes', () => {
    expect(fitted({ tab: '4 -4 5 -5 6' })).toBeNull();
    expect(fitted({ tab: "-3' -3'' -2' -2'' -4' -3''' -3' -3'' -2' -2''" })).toBeNull();
  });

  it('with notes on which the temperaments agree, although the pitch is known', () => {
    // Octaves and fifths of the hole-1 blow note: at most 2 cents between equal and just.
    const fit = fitted({ tab: '1 4 7 10 7 4 1 3 6 9 6 3 4 7 4', temperament: 'just-7-limit', a4Hz: 442 })!;
    expect(fit.told).toBe(false);
    expect(fit.temperament).toBe('equal');
    expect(Math.abs(fit.a4Hz - 442)).toBeLessThan(0.7);
  });

  it('with notes too short to measure', () => {
    const short = playedOn(harp('C'), TUNE).map(
      (event): SoundEvent => ({ ...event, heldSec: [event.onsetSec + 0.07, event.onsetSec + 0.12] }),
    );
    expect(fitTuning(short, readHoles(short, playableNotes(harp('C'))), 'C', {})).toBeNull();
  });

  it('with bends, which do not count: a player who bends flat does not have a flat harp', () => {
    const plain = fitted({ tab: TUNE })!;
    const events = playedOn(harp('C'), `${TUNE} | -3' -3'' -2' -2'' -4' -3'`, WANDER).map((event, i, all) =>
      i >= all.length - 6 ? { ...event, midi: event.midi - 0.3 } : event,
    );
    const fit = fitTuning(events, readHoles(events, playableNotes(harp('C'))), 'C', {})!;
    expect(fit.notes).toBe(plain.notes);
    expect(fit.a4Hz).toBeCloseTo(plain.a4Hz, 6);
  });
});

describe('what the player said', () => {
  it('A4 is kept', () => {
    expect(fitted({ a4Hz: 443 }, { a4Hz: 440 })!.a4Hz).toBe(440);
  });

  it('the temperament is kept, and A4 is estimated under it', () => {
    const temperament = temperamentById('just-7-limit');
    const fit = fitted({ temperament: 'just-7-limit', a4Hz: 443 }, { temperament })!;
    expect(fit).toMatchObject({ temperament: 'just-7-limit', told: true });
    expect(Math.abs(fit.a4Hz - 443)).toBeLessThan(0.4);
    expect(fitted({ a4Hz: 440 }, { temperament })!.temperament).toBe('just-7-limit');
  });
});

describe('too few natural notes', () => {
  const few = (a4Hz: number, tab: string) => {
    const events = playedOn(harp('C', { a4Hz }), tab);
    return a4OfFewNotes(events, readHoles(events, playableNotes(harp('C', { a4Hz }))));
  };

  it('give the usual 440 Hz if there are none', () => expect(few(446, "-3' -3'' -2' -2'' -4'")).toBe(440));

  it('give a value between theirs and the usual one, closer to theirs the more there are', () => {
    const one = few(443, '4');
    const four = few(443, '4 -4 5 -5');
    expect(one).toBeGreaterThan(440.5);
    expect(four).toBeGreaterThan(one);
    expect(four).toBeLessThan(443);
  });
});

describe('where few notes tell', () => {
  it('the remark names the pitch that is really assumed, and only what was not given', () => {
    expect(tuningRemarks(null, 438.06, {})).toEqual([
      'too few plain notes to be sure how the harp is tuned: assuming equal temperament and A4 = 438.1 Hz',
    ]);
    expect(tuningRemarks(null, 442, { a4Hz: 442 })[0]).toMatch(/assuming equal temperament$/);
    expect(tuningRemarks(null, 440, { temperament: 'just' })[0]).toMatch(/assuming A4 = 440 Hz$/);
    expect(tuningRemarks(null, 442, { temperament: 'just', a4Hz: 442 })).toEqual([]);
  });
});
