import { describe, expect, it } from 'vitest';
import { barTicks } from '../../../src/music/rhythm/metre.ts';
import { setMusic } from '../../../src/take/edits/set-music.ts';
import { givenBeats, saidOfBeats } from '../../../src/take/music.ts';
import type { Take } from '../../../src/take/schema.ts';
import { playTune } from '../../export/tunes.ts';

const NOTHING = { beats: {}, words: null } as const;

/** Places of the notes in their bars, in ticks. */
function inBars({ beats }: Take): number[] {
  if (beats.notes === undefined || beats.metre === null) return [];
  const length = barTicks(beats.metre);
  return beats.notes.map(({ atTicks }) => atTicks % length);
}

describe('the first bar', () => {
  it('begins with the note that was given, and is kept', () => {
    const { take } = playTune('brother-john');
    const { take: set, remarks } = setMusic(take, { ...NOTHING, firstBarNote: 3 });
    expect(remarks).toEqual([]);
    expect(inBars(set)[2]).toBe(0);
    expect(givenBeats(set).downbeatSec).toBe(take.notes[2].onsetSec);
    const later = setMusic(set, { ...NOTHING, beats: { metre: { count: 4, unit: 4 } } }).take;
    expect(inBars(later)[2]).toBe(0);
  });

  it('is reported if there is no such note', () => {
    const { take } = playTune('brother-john');
    const { take: same, remarks } = setMusic(take, { ...NOTHING, firstBarNote: 900 });
    expect(same).toBe(take);
    expect(remarks.join()).toContain(`the take has ${take.notes.length}`);
  });

  it('gives way to a pick-up that is given later, and to free time', () => {
    expect(saidOfBeats({ downbeatSec: 2 }, { pickupTicks: 12 })).toEqual({ pickupTicks: 12 });
    expect(saidOfBeats({ pickupTicks: 12 }, { downbeatSec: 2 })).toEqual({ downbeatSec: 2 });
    expect(saidOfBeats({ downbeatSec: 2 }, { free: true })).toEqual({ free: true });
    expect(saidOfBeats({ free: true }, { downbeatSec: 2 })).toEqual({ downbeatSec: 2 });
  });
});

describe('the form', () => {
  it('names the lines with which its sections begin', () => {
    const { take } = playTune('brother-john');
    const { take: set } = setMusic(take, { ...NOTHING, form: ['A', 'A', 'B', 'B', 'C', 'C', 'D', 'D'] });
    expect(set.phrases.map(({ name }) => name)).toEqual(['A', 'A', 'B', 'B', 'C', 'C', 'D', 'D']);
  });

  it('is reported if the take has fewer lines', () => {
    const { take } = playTune('ode-to-joy');
    const { take: same, remarks } = setMusic(take, { ...NOTHING, form: Array.from('AABACADA') });
    expect(same).toBe(take);
    expect(remarks.join()).toContain('the form names 8 sections, and the take has 3 lines');
  });

  it('is that of the words if they have several stanzas, except for names from the player', () => {
    const { take } = playTune('brother-john');
    const text = 'a b c d\ne f g h\ni j k\nl m n\n\nRefrain\no p q r s t\nu v w x y z\na b c\nd e f';
    const { take: set } = setMusic(take, { ...NOTHING, words: { text, language: null } });
    expect(set.phrases.map(({ name }) => name)).toEqual([
      'verse 1',
      undefined,
      undefined,
      undefined,
      'refrain',
      undefined,
      undefined,
      undefined,
    ]);
    const own = {
      ...set,
      phrases: set.phrases.map((phrase, i) => (i === 4 ? { ...phrase, name: 'bells' } : phrase)),
    };
    const other = setMusic(own, {
      ...NOTHING,
      words: { text: text.replace('Refrain\n', 'Bridge\n'), language: null },
    });
    expect(other.take.phrases.flatMap(({ name }) => name ?? [])).toEqual(['verse 1', 'bells']);
    const again = setMusic(own, { ...NOTHING, words: { text, language: null } }).take;
    expect(again.phrases[4].name).toBe('bells');
  });
});
