import { playableNotes } from '../../../src/harp/playable.ts';
import { findPhrases } from '../../../src/music/phrases.ts';
import type { Note } from '../../../src/tab/note.ts';
import { formatTabNote } from '../../../src/tab/text.ts';
import type { Take } from '../../../src/take/schema.ts';
import { buildTake } from '../../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleNote } from '../../take/example.ts';

const HARP = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 } as const;
const SCALE = playableNotes(HARP).filter(({ bend, over }) => bend <= 1 && !over);
/** Notes of a phrase; tunes come back to phrases that they had. */
const PHRASE_NOTES = 11;
const NEW_PHRASE = 0.3;
const BEAT_SEC = 0.5;
const REST_SEC = 0.7;

/** A sequence of numbers in [0, 1) that is the same each time (Numerical Recipes' quick generator). */
export function chance(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

interface TuneNote {
  readonly place: number;
  readonly beats: number;
}

/** So many notes of a made-up tune in phrases, some of them heard before. */
export function longTune(count: number, seed = 1): TuneNote[][] {
  const draw = chance(seed);
  const phrases: TuneNote[][] = [];
  for (let notes = 0; notes < count; notes += PHRASE_NOTES) {
    const length = Math.min(PHRASE_NOTES, count - notes);
    const isNew = phrases.length < 4 || draw() < NEW_PHRASE;
    phrases.push(
      isNew ? newPhrase(draw, length) : phrases[Math.floor(draw() * phrases.length)].slice(0, length),
    );
  }
  return phrases;
}

function newPhrase(draw: () => number, length: number): TuneNote[] {
  let place = Math.floor(draw() * SCALE.length);
  return Array.from({ length }, () => {
    place = Math.max(0, Math.min(SCALE.length - 1, place + Math.floor(draw() * 7) - 3));
    return { place, beats: draw() < 0.3 ? 1 : 0.5 };
  });
}

/** The notes of a tune as somebody plays them, a little early and late. */
export function playedNotes(phrases: readonly (readonly TuneNote[])[], seed = 2): Note[] {
  const draw = chance(seed);
  const notes: Note[] = [];
  let atSec = 0.5;
  for (const phrase of phrases) {
    for (const { place, beats } of phrase) {
      const { hole, breath, bend, over, midi, f0Hz } = SCALE[place];
      const onsetSec = atSec + 0.03 * draw();
      atSec += beats * BEAT_SEC;
      const cents = 20 * draw() - 10;
      notes.push(
        exampleNote('4', onsetSec, `n${notes.length + 1}`, {
          ...{ hole, breath, bend, over, f0Hz },
          midi: midi + cents / 100,
          cents,
          offsetSec: atSec - 0.04,
        }),
      );
    }
    atSec += REST_SEC;
  }
  return notes;
}

/** A take of so many notes, without beats yet found again: those come with `buildTake`. */
export function longTake(count: number, seed = 1): Take {
  const notes = playedNotes(longTune(count, seed));
  const source = { ...EXAMPLE_SOURCE, durationSec: (notes.at(-1)?.offsetSec ?? 0) + 1 };
  return buildTake(source, {
    harp: { ...HARP, confidence: 1, alternatives: [] },
    notes,
    phrases: findPhrases(notes),
  });
}

/** The same tune as plain tab. */
export function longTab(count: number): string {
  const lines = longTune(count).map((phrase) =>
    phrase.map(({ place, beats }) => `${formatTabNote(SCALE[place])}:${beats}`).join(' '),
  );
  return `${lines.join('\n')}\n`;
}

const STEPS = ['C', 'C', 'D', 'D', 'E', 'F', 'F', 'G', 'G', 'A', 'A', 'B'];
const ALTERED = [0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1, 0];

/** … as ABC, a bar line and a line of words for each phrase. */
export function longAbc(count: number): string {
  const lines = longTune(count).map((phrase) => {
    const notes = phrase.map(({ place, beats }) => {
      const { midi } = SCALE[place];
      const octave = Math.floor(midi / 12) - 5;
      const marks = octave > 0 ? "'".repeat(octave) : ','.repeat(-octave);
      return `${ALTERED[midi % 12] ? '^' : '='}${STEPS[midi % 12]}${marks}${beats === 1 ? '2' : ''}`;
    });
    return `${notes.join('')}|\nw:${phrase.map(() => 'la').join(' ')}`;
  });
  return `X:1\nT:Long\nM:4/4\nL:1/8\nK:C\n${lines.join('\n')}\n`;
}

/** … as MusicXML, a measure for each phrase. */
export function longMusicXml(count: number): string {
  const measures = longTune(count).map((phrase, i) => {
    const notes = phrase.map(({ place, beats }) => {
      const { midi } = SCALE[place];
      const alter = ALTERED[midi % 12] ? '<alter>1</alter>' : '';
      return `<note><pitch><step>${STEPS[midi % 12]}</step>${alter}<octave>${Math.floor(midi / 12) - 1}</octave></pitch><duration>${2 * beats}</duration><voice>1</voice><lyric><syllabic>single</syllabic><text>la</text></lyric></note>`;
    });
    const line = i % 2 === 0 ? '<print new-system="yes"/>' : '';
    return `<measure number="${i + 1}">${line}${notes.join('')}</measure>`;
  });
  return `<score-partwise><part-list/><part id="P1"><attributes/>${measures.join('')}</part></score-partwise>`.replace(
    '<attributes/>',
    '',
  );
}
