import { describe, expect, it } from 'vitest';
import { loadLanguage } from '../../../src/music/words/languages.ts';
import { splitWord } from '../../../src/music/words/syllables.ts';

// End-of-line divisions as Merriam-Webster's Collegiate Dictionary (11th ed., 2003) prints them, with a raised dot.
const DIVIDED = [
  'moth-er broth-er fa-ther sis-ter daugh-ter riv-er wa-ter moun-tain val-ley shad-ow win-ter sum-mer',
  'hon-or hol-i-day mag-ic col-or trav-el cov-er dev-il mel-o-dy fam-i-ly mem-o-ry his-to-ry',
  'vi-sion spe-cial pre-cious re-li-gion pi-geon',
  'run-ning tell-ing fall-ing sing-ing mak-ing danc-ing sail-or read-er',
  'par-ty for-ty num-ber ten-der ra-zor sure-ly sun-shine rain-bow rail-road',
].flatMap((line) => line.split(' '));

describe('English words', () => {
  it.each(DIVIDED)('%s', async (divided) => {
    const english = await loadLanguage('en');
    expect(splitWord(divided.replaceAll('-', ''), english).join('-')).toBe(divided);
  });

  it('finds where a compound joins, though the dictionary lacks it, and keeps capitals and signs', async () => {
    const english = await loadLanguage('en');
    expect(splitWord('Greensleeves,', english)).toEqual(['Green', 'sleeves,']);
    expect(splitWord("racetrack's", english)).toEqual(['race', "track's"]);
  });
});
