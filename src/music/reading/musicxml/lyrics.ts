import { MOST_VERSES, type WrittenNote, withLaterWord } from '../verses.ts';
import type { RawNote } from '../voice.ts';
import { all, type Element, first } from './xml.ts';

/** A syllable under a note. */
interface Syllable {
  readonly text: string;
  /** True if its word goes on. */
  readonly goesOn: boolean;
}

/** The words under the notes of one voice, by verse (MusicXML 4.0, `lyric`). */
export class Lyrics {
  /** For each note, its syllables by verse, and its bar. */
  readonly #notes: { readonly verses: ReadonlyMap<number, Syllable>; readonly bar: number }[] = [];

  /** @param inChord  true for another note of the chord before it, whose words it has */
  add(note: Element, bar: number, inChord: boolean): void {
    const last = this.#notes[this.#notes.length - 1];
    this.#notes.push({ verses: inChord && last ? last.verses : versesOf(note), bar });
  }

  /**
   * The notes with their words. In a bar in which a later verse has no words the first is sung again, unless a word goes on.
   * @param raw  the notes that were added
   */
  laidUnder(raw: readonly RawNote[]): RawNote[] {
    const verses = [...new Set(this.#notes.flatMap((note) => [...note.verses.keys()]))].sort((a, b) => a - b);
    const [lowest, ...later] = verses;
    const words = raw.map((_, i) => this.#notes[i].verses.get(lowest)?.text);
    const laterWords = raw.map((): WrittenNote['laterWords'] => undefined);
    for (const [v, verse] of later.entries()) {
      const bars = new Set(this.#notes.filter((note) => note.verses.has(verse)).map(({ bar }) => bar));
      let goesOn = false;
      for (const [i, note] of this.#notes.entries()) {
        const syllable = note.verses.get(verse);
        if (bars.has(note.bar) || goesOn)
          laterWords[i] = withLaterWord(laterWords[i], v + 2, syllable?.text ?? '');
        goesOn = syllable?.goesOn ?? goesOn;
      }
    }
    return raw.map((note, i) => ({ ...note, word: words[i], laterWords: laterWords[i] }));
  }
}

/** The syllables of a note by verse, but not the tab of our own files; a hyphen after one that its word continues. */
function versesOf(note: Element): Map<number, Syllable> {
  const verses = new Map<number, Syllable>();
  const lyrics = all(note, 'lyric').filter(({ attributes }) => attributes.name !== 'tab');
  for (const [i, lyric] of lyrics.entries()) {
    const text = all(lyric, 'text')
      .map((element) => element.text)
      .join(' ')
      .trim();
    if (text === '') continue;
    const syllabic = first(lyric, 'syllabic')?.text.trim();
    const goesOn = syllabic === 'begin' || syllabic === 'middle';
    const syllable = { text: goesOn ? `${text}-` : text, goesOn };
    for (const verse of versesSung(lyric, i + 1)) if (!verses.has(verse)) verses.set(verse, syllable);
  }
  return verses;
}

/** The verses for which a lyric is, by the times through a repeat at which it is sung, else by its number. */
function versesSung({ attributes }: Element, position: number): number[] {
  const times = attributes['time-only']?.split(',').map(Number) ?? [];
  const number = Number(/\d+/.exec(attributes.number ?? '')?.[0] ?? position);
  return (times.length > 0 ? times : [number]).filter((verse) => verse >= 1 && verse <= MOST_VERSES);
}
