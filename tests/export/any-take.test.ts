import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { writeAbc } from '../../src/export/abc.ts';
import { writeCsv } from '../../src/export/csv.ts';
import { writeMidiFile } from '../../src/export/midi.ts';
import { writeMusicXml } from '../../src/export/musicxml/musicxml.ts';
import { buildBars } from '../../src/export/notation/bars.ts';
import { buildScore } from '../../src/export/score.ts';
import { writeTab } from '../../src/export/tab.ts';
import { barTicks } from '../../src/music/rhythm/metre.ts';
import { parseTab } from '../../src/tab/text-file.ts';
import { anyTake } from './any-take.ts';
import { notesOfMidi, readWithAbcjs, schemaErrors } from './readers.ts';

/** Takes that all formats are tried on, drawn once: finding their bars takes longest. The seed in a message finds them again. */
const SEED = Date.now() % 2 ** 31;
const CASES = fc.sample(fc.record({ take: anyTake, title: fc.string({ minLength: 1 }) }), {
  numRuns: 40,
  seed: SEED,
});
const scored = CASES.map(({ take, title }, i) => ({
  take,
  title,
  score: buildScore(take, 'x'),
  name: `take ${i} of seed ${SEED}`,
}));

describe('any take at all', () => {
  it('fills its bars exactly, with existing note values and whole triplets', () => {
    for (const { take, score, name } of scored) {
      const { metre } = score.beats;
      const heard: string[] = [];
      for (const [i, bar] of buildBars(score).entries()) {
        expect(
          bar.symbols.reduce((sum, { ticks }) => sum + ticks, 0),
          name,
        ).toBe(bar.ticks);
        if (metre !== null && !(i === 0 && bar.pickup)) expect(bar.ticks).toBe(barTicks(metre));
        let group = 0;
        for (const { note, triplet, ticks, type, dots, tiedFrom } of bar.symbols) {
          const plain =
            { breve: 96, whole: 48, half: 24, quarter: 12, eighth: 6, '16th': 3 }[type] * (dots ? 1.5 : 1);
          expect(ticks).toBe(triplet === null ? plain : (plain * 2) / 3);
          if (triplet === 'start') expect(group).toBe(0);
          if (triplet !== null) group += ticks;
          if (triplet === 'stop') {
            expect(group).toBe(12);
            group = 0;
          }
          if (note !== null && !tiedFrom) heard.push(note.played.id);
        }
        expect(group).toBe(0);
      }
      expect(heard, name).toEqual(take.notes.map(({ id }) => id));
    }
  });

  it('is valid MusicXML', () => {
    for (const { take, title, name } of scored)
      expect(schemaErrors(writeMusicXml(buildScore(take, title), { style: 'signs' })), name).toEqual([]);
  });

  it('is ABC that abcjs reads without a warning, with the same number of notes', () => {
    for (const { score, name } of scored) {
      const { notes, warnings } = readWithAbcjs(writeAbc(score, { style: 'signs' }));
      expect(warnings, name).toEqual([]);
      expect(
        notes.map(({ midi }) => midi),
        name,
      ).toEqual(score.notes.map(({ midi }) => midi));
    }
  });

  it('is a MIDI file with the same number of notes, none overlapping, written or as played', () => {
    for (const { take, score, name } of scored) {
      for (const asPlayed of [false, true]) {
        const notes = notesOfMidi(writeMidiFile(score, { asPlayed }));
        expect(notes.length, name).toBe(take.notes.length);
        for (let i = 1; i < notes.length; i++)
          expect(notes[i - 1].onset + notes[i - 1].length, name).toBeLessThanOrEqual(notes[i].onset + 1e-9);
      }
    }
  });

  it('is tab that reads back, with lines within the width', () => {
    for (const { take, score, name } of scored) {
      for (const lengths of [false, true]) {
        const text = writeTab(score, { style: 'signs', columns: 60, lengths });
        const notes = parseTab(text)
          .phrases.flat()
          .flatMap((item) => (item.kind === 'note' ? [item.note] : []));
        expect(notes, name).toEqual(
          take.notes.map(({ hole, breath, bend, over }) => ({ hole, breath, bend, over })),
        );
        for (const line of text.split('\n'))
          if (!line.startsWith('#')) expect(line.length, name).toBeLessThanOrEqual(60);
      }
    }
  });

  it('is a table with one row per note and no cell that a spreadsheet takes for a formula', () => {
    for (const { take, score, name } of scored) {
      const lines = writeCsv(score)
        .replace(/^\uFEFF/, '')
        .split('\r\n');
      expect(lines.length, name).toBe(take.notes.length + 2);
      for (const line of lines) expect(line).not.toMatch(/(?:^|,)"?[=+@]|(?:^|,)"?-[^\d]/);
    }
  });
});
