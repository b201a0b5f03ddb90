import { parseMidi } from 'midi-file';
import { describe, expect, it } from 'vitest';
import { writeAbc } from '../../src/export/abc.ts';
import { writeMidiFile } from '../../src/export/midi.ts';
import { writeMusicXml } from '../../src/export/musicxml/musicxml.ts';
import { writeHtml } from '../../src/export/page/page.ts';
import { buildScore } from '../../src/export/score.ts';
import { writeTab } from '../../src/export/tab.ts';
import { loadLanguage } from '../../src/music/words/languages.ts';
import { alignWords } from '../../src/music/words/underlay.ts';
import { parseVerses } from '../../src/music/words/verses.ts';
import { buildWords } from '../../src/take/music.ts';
import { readWithAbcjs, readWithVerovio, schemaErrors } from './readers.ts';
import { playTune } from './tunes.ts';

/** Traditional songs and hymns (public domain): lines with fewer and with more syllables than the tune has notes. */
const SONGS: Readonly<Record<string, string>> = {
  en: `Amazing grace! How sweet the sound
That saved a wretch like me!
I once was lost, but now am found;
Was blind, but now I see.

Through many dangers, toils and snares, o'er hill and dale, and vale and hill and dale,
I have already come, already come;
'Tis grace hath brought me safe thus far,
And grace will lead me home.`,
  de: `Der Mond ist aufgegangen,
die goldnen Sternlein prangen
am Himmel hell und klar;
der Wald steht schwarz und schweiget,

und aus den Wiesen steiget der weiße Nebel wunderbar.
Wie ist die Welt so stille
und in der Dämmrung Hülle
so traulich und so hold`,
  fr: `Au clair de la lune,
Mon ami Pierrot,
Prête-moi ta plume
Pour écrire un mot.

Ma chandelle est morte, je n'ai plus de feu ;
Ouvre-moi ta porte, pour l'amour de Dieu.
« Je n'ai pas de plume,
Je suis dans mon lit. »`,
  es: `De colores, de colores se visten
los campos en la primavera;
de colores son los pajaritos
que vienen de afuera;

de colores es el arcoíris
que vemos lucir,
y por eso los grandes amores
de muchos colores me gustan a mí.`,
  it: `Sul mare luccica
l'astro d'argento,
placida è l'onda,
prospero è il vento;

com'è bello star sulla nave! Su, passeggeri, venite via!
venite all'agile
barchetta mia,
Santa Lucia!`,
};

const { take } = playTune('amazing-grace');

/** The tune with a song, split by its language. */
async function sung(code: string, song: string) {
  const verses = parseVerses(song, await loadLanguage(code));
  const laid = alignWords(verses, take.notes, take.phrases);
  const score = buildScore({ ...take, words: buildWords(take.notes, laid) }, code);
  return { score, remarks: laid.remarks };
}

/** Letters and digits, sorted: what is under notes and what is left over come in another order than in the song. */
function letters(text: string): string {
  return (text.normalize('NFC').match(/\p{L}|\p{N}/gu) ?? []).sort().join('');
}

/** Words of the file with the labels of verses and of what is left over taken off. */
const unlabelled = (line: string) => line.replace(/^(?:Words without a note: )?(?:\d\. )?/, '');

describe.each(Object.keys(SONGS))('no word is dropped (%s)', (code) => {
  const wanted = letters(SONGS[code]);

  it('and a difference in number is reported', async () => {
    const { score, remarks } = await sung(code, SONGS[code]);
    expect(remarks.length).toBeGreaterThan(0);
    expect(score.leftOver.length).toBeGreaterThan(0);
  });

  it('in tab', async () => {
    const { score } = await sung(code, SONGS[code]);
    const lines = writeTab(score, { style: 'signs', columns: 80, lengths: false }).split('\n');
    const words = lines.filter((line) => /^[^#]*\p{L}/u.test(line));
    const left = lines.slice(lines.indexOf('# Words without a note:') + 1);
    expect(letters(words.join('') + left.map((line) => unlabelled(line.slice(2))).join(''))).toBe(wanted);
  });

  it('in ABC, as abcjs reads it', async () => {
    const { score } = await sung(code, SONGS[code]);
    const abc = writeAbc(score, { style: 'signs' });
    const { lyrics, warnings } = readWithAbcjs(abc);
    expect(warnings).toEqual([]);
    const left = [...abc.matchAll(/^W:(.*)$/gm)].map(([, text]) => unlabelled(text));
    // The first row is the tab.
    expect(letters([...lyrics.slice(1).flat(), ...left].join(''))).toBe(wanted);
  });

  it('in MusicXML, valid, with the same syllables in verovio', async () => {
    const { score } = await sung(code, SONGS[code]);
    const xml = writeMusicXml(score, { style: 'signs' });
    expect(schemaErrors(xml)).toEqual([]);
    const { syllables, log } = await readWithVerovio(xml);
    expect(log).toBe('');
    const left = /<miscellaneous-field[^>]*>([^<]*)</.exec(xml)![1].split('\n').map(unlabelled);
    expect(
      letters([...syllables.map(({ text }) => text).filter((text) => !/^−?\d/.test(text)), ...left].join('')),
    ).toBe(wanted);
  });

  it('in MIDI, as midi-file reads it: the first verse as lyrics, the others as text', async () => {
    const { score } = await sung(code, SONGS[code]);
    const [head, harmonica] = parseMidi(writeMidiFile(score, { asPlayed: false })).tracks;
    const utf8 = (text: string) => Buffer.from(text, 'latin1').toString('utf8');
    const lyrics = harmonica.flatMap((event) => (event.type === 'lyrics' ? [utf8(event.text)] : []));
    const texts = head.flatMap((event) => (event.type === 'text' ? [unlabelled(utf8(event.text))] : []));
    expect(letters([...lyrics, ...texts].join(''))).toBe(wanted);
    expect(letters(texts.join('')).length).toBeGreaterThan(0);
  });

  it('on the page', async () => {
    const { score } = await sung(code, SONGS[code]);
    const html = writeHtml(score, { style: 'signs', sound: null, staff: null, findings: null });
    const plain = (text: string) => text.replace(/&#(\d+);/g, (_, point) => String.fromCharCode(point));
    const under = [...html.matchAll(/<span class="word"[^>]*>([^<]*)</g)].map(([, text]) => plain(text));
    const left = /<h2>Words without a note<\/h2>(.*?)<\/section>/.exec(html)![1];
    const lines = [...left.matchAll(/<p>(.*?)<\/p>/g)].map(([, text]) => unlabelled(plain(text)));
    expect(letters([...under.map((word) => word.replace('&nbsp;', '')), ...lines].join(''))).toBe(wanted);
  });
});

it('punctuation alone moves no word in ABC to another note', async () => {
  const { score } = await sung('en', '| grace');
  const { lyrics } = readWithAbcjs(writeAbc(score, { style: 'signs' }));
  expect(lyrics[1].slice(0, 2).map((word) => word.trim())).toEqual(['|', 'grace']);
});

it('a held syllable ends where the next begins, even after a correction', async () => {
  const { score } = await sung('en', 'oh when the saints');
  const ids = take.notes.map(({ id }) => id);
  const [oh, when, ...others] = score.take.words;
  const words = [
    { ...oh, noteId: ids[0], holds: 3 },
    { ...when, noteId: ids[2], holds: 0 },
    ...others.slice(2),
  ];
  const corrected = buildScore({ ...take, words }, 'x');
  expect(corrected.notes.slice(0, 4).map((note) => note.sung[0])).toEqual([
    { kind: 'begin', text: 'oh', syllabic: 'single', holds: 1, lang: null },
    { kind: 'hold', last: true, inWord: false },
    { kind: 'begin', text: 'when', syllabic: 'single', holds: 0, lang: null },
    undefined,
  ]);
});
