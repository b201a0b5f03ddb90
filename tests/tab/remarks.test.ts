import { describe, expect, it } from 'vitest';
import { faultsOf, isDoubtful, remarkLegend, remarksOn } from '../../src/tab/remarks.ts';
import { exampleNote } from '../take/example.ts';

const plain = exampleNote('4', 1, 'n1');
const short = { ...plain, intonation: null };

// The limits are common practice, no source; the tab, the page and the correction screen share them.
describe('remarks on a note', () => {
  it('are none if all is well', () => {
    expect(remarksOn(plain, 'signs')).toEqual([]);
    expect(remarkLegend([plain])).toBe('');
    expect(faultsOf(plain)).toEqual([]);
  });

  it('name its tuning beyond 20 cents, or 25 if bent, unless it is too short to judge', () => {
    expect(faultsOf({ ...plain, cents: -31.4 })).toEqual(['flat 31']);
    expect(faultsOf({ ...plain, cents: 20 })).toEqual([]);
    expect(faultsOf({ ...plain, cents: 24, bend: 1 })).toEqual([]);
    expect(faultsOf({ ...plain, cents: 26, bend: 1 })).toEqual(['sharp 26']);
    expect(faultsOf({ ...short, cents: -31.4 })).toEqual([]);
  });

  it('name a second reed that is loud enough to be believed', () => {
    expect(faultsOf({ ...plain, leak: { hole: 5, levelDb: -19 } })).toEqual(['leak #5']);
    expect(faultsOf({ ...plain, leak: { hole: 5, levelDb: -21 } })).toEqual([]);
  });

  it('name a doubtful hole, until the player has settled it', () => {
    const doubtful = { ...plain, confidence: 0.5, flags: ['doubtful-hole'], alternatives: [] };
    expect(remarksOn(doubtful, 'signs')).toEqual(['hole?']);
    expect(isDoubtful({ ...doubtful, flags: ['accepted'] })).toBe(false);
  });

  it('say that it may be two notes, however sure its hole is', () => {
    const twice = { ...plain, flags: ['maybe-two'] };
    expect(remarksOn(twice, 'signs')).toEqual(['two?']);
    expect(remarkLegend([twice])).toBe('"two?" may be played twice');
    expect(isDoubtful({ ...twice, flags: ['maybe-two', 'accepted'] })).toBe(false);
  });
});
