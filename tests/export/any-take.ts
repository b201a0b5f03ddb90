import fc from 'fast-check';
import { playableNotes } from '../../src/harp/playable.ts';
import { findPhrases } from '../../src/music/phrases.ts';
import { alignWords } from '../../src/music/words/underlay.ts';
import { parseVerses } from '../../src/music/words/verses.ts';
import { buildBeats, buildWords } from '../../src/take/music.ts';
import type { Take } from '../../src/take/schema.ts';
import { buildTake } from '../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleNote } from '../take/example.ts';

const HARP = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
const PLAYABLE = playableNotes(HARP);

const played = fc.array(
  fc.record({
    note: fc.constantFrom(...PLAYABLE),
    gapSec: fc.oneof(fc.constant(0), fc.double({ min: 0, max: 1.5, noNaN: true })),
    lengthSec: fc.double({ min: 0.05, max: 2.5, noNaN: true }),
    cents: fc.double({ min: -45, max: 45, noNaN: true }),
  }),
  { minLength: 1, maxLength: 16 },
);

const time = fc.constantFrom(
  {},
  { free: true },
  { metre: { count: 3, unit: 4 } },
  { metre: { count: 6, unit: 8 } },
  { metre: { count: 7, unit: 8 } },
  { metre: { count: 5, unit: 4 } },
  { tempoBpm: 60 },
);

const verse = fc.array(
  fc.constantFrom(
    'la',
    'ri-ver',
    'a_',
    '=1',
    '<b>&',
    '日本',
    'o~ver',
    'end_',
    '"x"',
    '5',
    '%',
    '|',
    '\u0007tock',
    'a*b',
  ),
  { maxLength: 12 },
);

/** Takes of anything a C harp can play, at any time, with words of every kind. */
export const anyTake: fc.Arbitrary<Take> = fc.tuple(played, time, verse).map(([parts, given, words]) => {
  let at = 0.3;
  const notes = parts.map(({ note, gapSec, lengthSec, cents }, i) => {
    const onsetSec = at + gapSec;
    at = onsetSec + lengthSec;
    const { hole, breath, bend, over, midi } = note;
    return exampleNote('4', onsetSec, `n${i + 1}`, {
      hole,
      breath,
      bend,
      over,
      offsetSec: at,
      midi: midi + cents / 100,
      cents,
    });
  });
  const take = buildTake(EXAMPLE_SOURCE, {
    harp: { ...HARP, confidence: 1, alternatives: [] },
    notes,
    phrases: findPhrases(notes),
  });
  const laid = alignWords(parseVerses(words.join(' '), null), notes, take.phrases);
  return { ...take, beats: buildBeats(take.notes, given), words: buildWords(take.notes, laid) };
});
