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

/** A take is long in shrinking: the seed in the message is enough to find it again. */
const RUNS = { numRuns: 40, endOnFailure: true };

describe('any take at all', () => {
  it('fills its bars exactly, with signs that exist and whole triplets', () => {
    fc.assert(
      fc.property(anyTake, (take) => {
        const score = buildScore(take, 'x');
        const { metre } = score.beats;
        const heard: string[] = [];
        for (const [i, bar] of buildBars(score).entries()) {
          expect(bar.symbols.reduce((sum, { ticks }) => sum + ticks, 0)).toBe(bar.ticks);
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
        expect(heard).toEqual(take.notes.map(({ id }) => id));
      }),
      RUNS,
    );
  });

  it('is valid MusicXML', () => {
    fc.assert(
      fc.property(anyTake, fc.string({ minLength: 1 }), (take, title) => {
        expect(schemaErrors(writeMusicXml(buildScore(take, title), { style: 'signs' }))).toEqual([]);
      }),
      RUNS,
    );
  });

  it('is ABC that abcjs reads without a warning, with the same number of notes', () => {
    fc.assert(
      fc.property(anyTake, (take) => {
        const score = buildScore(take, 'x');
        const { notes, warnings } = readWithAbcjs(writeAbc(score, { style: 'signs' }));
        expect(warnings).toEqual([]);
        expect(notes.map(({ midi }) => midi)).toEqual(score.notes.map(({ midi }) => midi));
      }),
      RUNS,
    );
  });

  it('is a MIDI file with as many notes, none overlapping, written or as played', () => {
    fc.assert(
      fc.property(anyTake, fc.boolean(), (take, asPlayed) => {
        const notes = notesOfMidi(writeMidiFile(buildScore(take, 'x'), { asPlayed }));
        expect(notes.length).toBe(take.notes.length);
        for (let i = 1; i < notes.length; i++) {
          expect(notes[i - 1].onset + notes[i - 1].length).toBeLessThanOrEqual(notes[i].onset + 1e-9);
        }
      }),
      RUNS,
    );
  });

  it('is tab that reads back, lines within the width', () => {
    fc.assert(
      fc.property(anyTake, fc.boolean(), (take, lengths) => {
        const text = writeTab(buildScore(take, 'x'), { style: 'signs', columns: 60, lengths });
        const notes = parseTab(text)
          .phrases.flat()
          .flatMap((item) => (item.kind === 'note' ? [item.note] : []));
        expect(notes).toEqual(
          take.notes.map(({ hole, breath, bend, over }) => ({ hole, breath, bend, over })),
        );
        for (const line of text.split('\n'))
          if (!line.startsWith('#')) expect(line.length).toBeLessThanOrEqual(60);
      }),
      RUNS,
    );
  });

  it('is a table with as many rows, no cell of which a spreadsheet takes for a formula', () => {
    fc.assert(
      fc.property(anyTake, (take) => {
        const lines = writeCsv(buildScore(take, 'x'))
          .replace(/^\uFEFF/, '')
          .split('\r\n');
        expect(lines.length).toBe(take.notes.length + 2);
        for (const line of lines) expect(line).not.toMatch(/(?:^|,)"?[=+@]|(?:^|,)"?-[^\d]/);
      }),
      RUNS,
    );
  });
});
