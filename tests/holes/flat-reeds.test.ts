import { describe, expect, it } from 'vitest';
import { playableNotes } from '../../src/harp/playable.ts';
import { readHoles } from '../../src/holes/holes.ts';
import { harp, playedOn, signs } from '../tab/hand-made.ts';

const C = harp('C');
const NOTES = playableNotes(C);

/** Reads a tune of which every 4 draw (and its bend) is off by these cents, in turn. */
function readOff(tab: string, cents: readonly number[]): string {
  let seen = 0;
  const events = playedOn(C, tab).map((event) => {
    const off = Math.abs(event.midi - 74) < 0.01 ? cents[seen++ % cents.length] / 100 : 0;
    return { ...event, midi: event.midi + off };
  });
  return signs(readHoles(events, NOTES).map(([{ note }]) => note));
}

const TUNE = '-4 | 4 -4 5 | -4 -3 | -4 | 5 -4 4 | -4';

// Reeds go flat with wear (common practice, no source); 38 cents is nearer to 4 draw than to its bend at 100.
describe('a flat reed', () => {
  it.each([-30, -36, -42])('is one that is %i cents flat every time, not a bend', (cents) => {
    expect(readOff(TUNE, [cents, cents - 1, cents + 1])).toBe(TUNE.replaceAll('| ', ''));
  });

  it('is not one whose pitch varies: those are missed bends', () => {
    expect(readOff(TUNE, [-33, -44, -24, -45, -21])).toContain("-4'");
  });

  it('is not one that is in tune elsewhere: the flat notes are bends', () => {
    expect(readOff(TUNE, [0, -42, -42, -42, -42])).toContain("-4'");
  });

  it('does not exist on a harp that is flat as a whole', () => {
    const all = playedOn(C, '4 4 4 -4 -4 -4 5 5 5 -5 -5 -5 6 6 6', [-36]);
    expect(readHoles(all, NOTES)).toHaveLength(15);
  });
});
