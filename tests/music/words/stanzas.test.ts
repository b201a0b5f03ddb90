import { describe, expect, it } from 'vitest';
import { readStanzas } from '../../../src/music/words/stanzas.ts';

const read = (text: string) => readStanzas(text).map(({ kind, name, lines }) => [kind, name, ...lines]);

describe('stanzas', () => {
  it.each([
    [
      'Verse 1:\na\nb\n\nVerse 2:\nc',
      [
        ['verse', 'verse 1', 'a', 'b'],
        ['verse', 'verse 2', 'c'],
      ],
    ],
    [
      '[Verse 1]\na\n\n[Chorus]\nb\n\n[Verse 2]\nc\n\n[Chorus]',
      [
        ['verse', 'verse 1', 'a'],
        ['refrain', 'refrain', 'b'],
        ['verse', 'verse 2', 'c'],
        ['refrain', 'refrain', 'b'],
      ],
    ],
    [
      '1. a\nb\n2. c\nd',
      [
        ['verse', 'verse 1', 'a', 'b'],
        ['verse', 'verse 2', 'c', 'd'],
      ],
    ],
    [
      '1\na\n\n2\nb',
      [
        ['verse', 'verse 1', 'a'],
        ['verse', 'verse 2', 'b'],
      ],
    ],
    [
      'Strophe 1\na\n\nKehrvers: la la',
      [
        ['verse', 'verse 1', 'a'],
        ['refrain', 'refrain', 'la la'],
      ],
    ],
    [
      'Verse 1\n\na b\n\nc',
      [
        ['verse', 'verse 1', 'a b'],
        ['verse', 'verse 2', 'c'],
      ],
    ],
    [
      'a\n\nla la\n\nb\n\nLa la!',
      [
        ['verse', 'verse 1', 'a'],
        ['refrain', 'refrain', 'la la'],
        ['verse', 'verse 2', 'b'],
        ['refrain', 'refrain', 'La la!'],
      ],
    ],
    ['Bridge:\na', [['other', 'bridge', 'a']]],
    [
      'a\n\nRefrain (x2)\nb',
      [
        ['verse', 'verse 1', 'a'],
        ['refrain', 'refrain', 'b'],
      ],
    ],
  ])('%j', (text, stanzas) => {
    expect(read(text)).toEqual(stanzas);
  });

  it('give the language of their stanza, and a refrain called by name keeps its own', () => {
    const text =
      'Verse 1 (en):\na\n\nRefrain (en)\nb\n\n[Vers 2 (DE)]\nc\n\nRefrain (de): d\n\n3. (fr)\ne\n\nRefrain (en)';
    expect(readStanzas(text).map(({ name, language, lines }) => [name, language, ...lines])).toEqual([
      ['verse 1', 'en', 'a'],
      ['refrain', 'en', 'b'],
      ['verse 2', 'de', 'c'],
      ['refrain', 'de', 'd'],
      ['verse 3', 'fr', 'e'],
      ['refrain', 'en', 'b'],
    ]);
    expect(readStanzas('1. (oh) my dear')[0]).toMatchObject({ language: null, lines: ['(oh) my dear'] });
  });

  it('are not labels if words follow on the line', () => {
    expect(read('Refrain from weeping\nVerse and prose\n99 bottles of beer')).toEqual([
      ['verse', 'verse 1', 'Refrain from weeping', 'Verse and prose', '99 bottles of beer'],
    ]);
  });

  it('are absent if there is nothing but remarks and labels', () => {
    expect(read('# said\n\nChorus\n\n')).toEqual([]);
  });
});
