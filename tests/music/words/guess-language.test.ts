import { describe, expect, it } from 'vitest';
import { guessLanguage } from '../../../src/music/words/guess-language.ts';

// First lines of traditional songs (public domain) and plain sentences of our own.
describe('guessLanguage', () => {
  it.each([
    ['en', 'Amazing grace, how sweet the sound\nthat saved a wretch like me'],
    ['en', 'Oh when the saints go march-ing in'],
    ['de', 'Alle Vögel sind schon da,\nalle Vögel, alle'],
    ['de', 'Der Mond ist aufgegangen,\ndie goldnen Sternlein prangen'],
    ['fr', 'Au clair de la lune, mon ami Pierrot,\nprête-moi ta plume pour écrire un mot'],
    ['es', 'Ya se van los pastores a la Extremadura,\nya se queda la sierra triste y oscura'],
    ['it', 'Santa Lucia, sul mare luccica\nl’astro d’argento, placida è l’onda'],
    ['pt', 'O cravo brigou com a rosa\ndebaixo de uma sacada'],
    ['nl', 'Zie de maan schijnt door de bomen,\nmakkers staakt uw wild geraas'],
    ['sv', 'Jag vill sjunga en visa och det är för dig'],
    ['da', 'Jeg vil synge en vise og det er for dig'],
    ['pl', 'Wlazł kotek na płotek i mruga,\nładna to piosenka, niedługa'],
  ])('%s: %s', (language, text) => {
    expect(guessLanguage(text)).toBe(language);
  });

  it.each(['', 'la la la', 'Hallelujah', 'Kum ba yah'])('does not guess from %j', (text) => {
    expect(guessLanguage(text)).toBeNull();
  });

  it('ignores manual hyphens, holds and typographic apostrophes', () => {
    expect(guessLanguage('I’m com-ing back to__ you, and you know it')).toBe('en');
  });
});
