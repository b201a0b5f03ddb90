import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LANGUAGES, loadLanguage } from '../../../src/music/words/languages.ts';
import { splitWord } from '../../../src/music/words/syllables.ts';

async function split(code: string, text: string): Promise<string> {
  const language = await loadLanguage(code);
  return text
    .split(' ')
    .map((word) => splitWord(word, language).join('-'))
    .join(' ');
}

describe('syllables of words', () => {
  // Lines of traditional songs (public domain), split as song books print them (common practice, no source).
  it.each([
    ['en', 'A-maz-ing grace! how sweet the sound, that saved a wretch like me'],
    ['en', 'o-ver the riv-er ev-ery eve-ning'],
    ['en', 'Oh, Su-san-na, don’t you cry'],
    ['en', 'from this val-ley they say you are go-ing'],
    ['en', 're-mem-ber the cow-boy'],
    ['de', 'Al-le Vö-gel sind schon da'],
    ['de', 'A-bend ü-ber O-fen E-he'],
    ['de', 'Freu-de, schö-ner Göt-ter-fun-ken'],
    ['fr', 'Frè-re Jac-ques dor-mez vous'],
    ['fr', 'son-nez les ma-ti-nes'],
    ['fr', 'au clair de la lu-ne'],
    ['es', 'ha-bí-a u-na vez un bar-qui-to chi-qui-ti-to'],
    ['es', 'ma-es-tro a-gua rí-o cie-lo i-gle-sia'],
    ['en', 'I have no i-de-a'],
    ['en', 'Lou-i-si-an-a is un-think-a-ble, ter-ri-ble ta-bles, ru-in a quite lit-tle fruit, while Merle'],
    ['en', 'some-one to love, some-thing gold'],
    ['en', 'ex-treme-ly slow, im-me-di-ate-ly, com-plete-ly'],
    ['en', 'a grass-hop-per home-stead-ed, peo-ple waved'],
    ['it', 'San-ta Lu-ci-a, o so-le mi-o'],
    ['it', 'fra Mar-ti-no cam-pa-na-ro'],
    ['it', 'a-mo-re u-va pa-e-se'],
    ['it', 'co-m’è bel-lo, do-v’è la lu-na'],
    ['en', 'o’er hill and dale, ne’er to go'],
  ])('%s: %s', async (code, wanted) => {
    expect(await split(code, wanted.replaceAll(/(?<=\p{L})-(?=\p{L})/gu, ''))).toBe(wanted);
  });

  it("follow the player's own hyphens first", async () => {
    expect(splitWord('ev-er-y', await loadLanguage('en'))).toEqual(['ev', 'er', 'y']);
    expect(splitWord('river', null)).toEqual(['river']);
    expect(splitWord("Gath-'ring", await loadLanguage('en'))).toEqual(['Gath', "'ring"]);
    expect(splitWord('o’-er', null)).toEqual(['o’', 'er']);
  });

  it('do not take hyphens of French and Portuguese spelling for manual splits', async () => {
    const french = await loadLanguage('fr');
    expect(splitWord('Prête-moi', french)).toEqual(['Prê', 'te', 'moi']);
    expect(splitWord('dormez-vous?', french)).toEqual(['dor', 'mez', 'vous?']);
    expect(splitWord('a-t-il', french)).toEqual(['a', 't', 'il']);
    expect(splitWord('lu-ne', french)).toEqual(['lu', 'ne']);
    expect(splitWord('lembra-me', await loadLanguage('pt'))).toEqual(['lem', 'bra', 'me']);
  });

  it('ignore regions, and name unknown languages', async () => {
    expect((await loadLanguage('de-AT')).code).toBe('de');
    await expect(loadLanguage('xx')).rejects.toMatchObject({ code: 'E_USAGE' });
  });

  it('keep combining marks with their letter', async () => {
    // x with a combining acute accent (Unicode has no single letter for it)
    expect(splitWord('ax\u0301a', await loadLanguage('de'))).toEqual(['a', 'x\u0301a']);
    expect(splitWord('a\u{1d504}a', await loadLanguage('de'))).toEqual(['a', '\u{1d504}a']);
  });

  it('never lose a letter', async () => {
    const languages = await Promise.all(LANGUAGES.map(loadLanguage));
    fc.assert(
      fc.property(
        fc.constantFrom(...languages),
        fc.string({ unit: 'grapheme', minLength: 1, maxLength: 20 }),
        (language, word) => {
          fc.pre(!/-|\s/.test(word));
          const parts = splitWord(word, language);
          expect(parts.join('')).toBe(word);
          expect(parts).not.toContain('');
        },
      ),
      { numRuns: 300 },
    );
  });
});
