import { describe, expect, it } from 'vitest';
import { buildBars } from '../../src/export/notation/bars.ts';
import { toldOnce, withoutTalk } from '../../src/export/retold.ts';
import { buildScore } from '../../src/export/score.ts';
import { formatTabNote } from '../../src/tab/text.ts';
import { buildBeats, buildPhrases } from '../../src/take/music.ts';
import type { Take } from '../../src/take/schema.ts';
import { buildTake } from '../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleNote } from '../take/example.ts';

const TALK_SEC = 8;
const FIRST = ['4', '-4', '5', '6'];
const SECOND = ['6', '5', '-4', '4'];

/** A teacher plays a line, talks, plays it again, talks, and plays the next: a beat a note, at 60 in four-four time. */
function lesson(words: readonly (readonly string[])[] = [], talkSec = TALK_SEC): Take {
  const lines = [FIRST, FIRST, SECOND];
  const notes = lines.flatMap((line, l) =>
    line.map((tab, i) => {
      const at = l * (4 + talkSec) + i;
      return exampleNote(tab, at, `n${4 * l + i + 1}`, { offsetSec: at + 0.95 });
    }),
  );
  const found = lines.map((_, l) => ({ firstNote: 4 * l, lastNote: 4 * l + 3 }));
  const take = buildTake(EXAMPLE_SOURCE, {
    harp: { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440, confidence: 1, alternatives: [] },
    notes,
    phrases: found,
  });
  const beats = buildBeats(notes, { tempoBpm: 60, metre: { count: 4, unit: 4 }, pickupTicks: 0 });
  const syllables = words.flatMap((line, l) =>
    line.map((text, i) => ({
      verse: 1,
      text,
      syllabic: 'single' as const,
      noteId: `n${4 * l + i + 1}`,
      holds: 0,
    })),
  );
  const phrases = buildPhrases(notes, found).map((phrase, i) => ({ ...phrase, advice: `to line ${i + 1}` }));
  return { ...take, beats, phrases, words: syllables };
}

const tabOf = ({ notes }: Take) => notes.map((note) => formatTabNote(note));
const emptyBars = (take: Take) =>
  buildBars(buildScore(take, 'x')).filter(({ symbols }) => symbols.every(({ note }) => note === null)).length;

describe('a lesson with talk between its lines', () => {
  it('gives talk no bars, and keeps the times of the notes', () => {
    const take = lesson();
    expect(emptyBars(take)).toBeGreaterThan(2);
    const told = withoutTalk(take);
    expect(emptyBars(told)).toBe(0);
    const bars = (each: Take) => buildBars(buildScore(each, 'x')).length;
    expect(bars(told)).toBe(bars(take) - emptyBars(take));
    expect(told.notes).toEqual(take.notes);
    expect(told.beats).toMatchObject({ metre: { count: 4, unit: 4 }, tempoBpm: 60 });
  });

  it('keeps a rest of one bar in the tune', () => {
    const take = lesson();
    const notes = take.notes.map((note, i) => {
      const later = i < 4 ? 0 : i < 8 ? TALK_SEC - 4 : 2 * (TALK_SEC - 4);
      return { ...note, onsetSec: note.onsetSec - later, offsetSec: note.offsetSec - later };
    });
    const beats = buildBeats(notes, { tempoBpm: 60, metre: { count: 4, unit: 4 }, pickupTicks: 0 });
    const rested = { ...take, notes, beats };
    expect(emptyBars(rested)).toBe(2);
    expect(emptyBars(withoutTalk(rested))).toBe(2);
  });

  it("shows a repeated line once, with all of the teacher's remarks", () => {
    const told = toldOnce(lesson());
    expect(tabOf(told)).toEqual([...FIRST, ...SECOND]);
    expect(told.phrases.map(({ firstNote, lastNote, advice }) => [firstNote, lastNote, advice])).toEqual([
      [0, 3, 'to line 1'],
      [4, 7, 'to line 3'],
    ]);
    expect(emptyBars(told)).toBe(0);
  });

  it('removes the bars of a repeated line even without talk beside it', () => {
    expect(emptyBars(lesson([], 0))).toBe(0);
    expect(emptyBars(toldOnce(lesson([], 0)))).toBe(0);
  });

  it('keeps a line that is repeated with other words', () => {
    const same = [['one', 'two', 'three', 'four'], ['one', 'two', 'three', 'four'], []];
    expect(tabOf(toldOnce(lesson(same)))).toEqual([...FIRST, ...SECOND]);
    const other = [same[0], ['five', 'six', 'sev', 'eight'], []];
    expect(tabOf(toldOnce(lesson(other)))).toEqual([...FIRST, ...FIRST, ...SECOND]);
  });
});
