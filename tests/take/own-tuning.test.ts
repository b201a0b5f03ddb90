import fc from 'fast-check';
import { expect, it } from 'vitest';
import { parseCustomLayout } from '../../src/harp/layouts.ts';
import { noteName } from '../../src/harp/names.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import { parseTemperamentTable } from '../../src/harp/temperaments.ts';
import type { CustomHarp } from '../../src/harp/types.ts';
import { edit, openEdits, undo } from '../../src/take/edits/edits.ts';
import { formatTake } from '../../src/take/format.ts';
import { checkTake, parseTake } from '../../src/take/parse.ts';
import type { Take } from '../../src/take/schema.ts';
import { buildTake } from '../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleFindings } from './example.ts';

const AT = { at: '2026-11-25T12:00:00.000Z' };
// Every note from E1 to C8 that a tuning file may name; the two of a hole differ.
const hole = fc.uniqueArray(fc.integer({ min: 28, max: 108 }), { minLength: 2, maxLength: 2 });
const layout = fc
  .record({ name: fc.string({ unit: 'binary' }), holes: fc.array(hole, { minLength: 10, maxLength: 10 }) })
  .map(({ name, holes }) =>
    parseCustomLayout({
      name,
      blow: holes.map(([midi]) => noteName(midi, 0)),
      draw: holes.map(([, midi]) => noteName(midi, 0)),
    }),
  );
const cents = fc.array(
  fc.double({ min: -50, max: 50, noNaN: true }).map((value) => value || 0),
  { minLength: 10, maxLength: 10 },
);
const temperament = fc
  .record({ name: fc.string({ unit: 'binary' }), blow: cents, draw: cents })
  .map(parseTemperamentTable);

function takeOn(custom: CustomHarp): Take {
  const findings = exampleFindings(['4']);
  const tuning = custom.layout?.id ?? 'richter';
  const tempered = custom.temperament?.id ?? 'equal';
  return buildTake(EXAMPLE_SOURCE, {
    ...findings,
    harp: { ...findings.harp, tuning, temperament: tempered, custom },
  });
}

it('any tuning and temperament from a file come back from the take as the same notes', () => {
  fc.assert(
    fc.property(layout, temperament, (own, tempered) => {
      const custom = { layout: own, temperament: tempered };
      const read = parseTake(formatTake(takeOn(custom)), 'x');
      const spec = { key: 'C', tuning: 'custom', temperament: 'custom', a4Hz: 440 };
      expect(playableNotes(read.harp)).toEqual(playableNotes(spec, custom));
    }),
  );
});

it('another harp with the same tuning keeps it, a built-in tuning drops it, and undo restores it', () => {
  fc.assert(
    fc.property(layout, temperament, (own, tempered) => {
      const start = openEdits(takeOn({ layout: own, temperament: tempered }));
      const { key: _, ...rest } = { key: '', tuning: 'custom', temperament: 'custom', a4Hz: 440 };
      const moved = edit(start, { kind: 'harp', harp: { ...rest, key: 'D' } }, AT)!.state;
      expect(moved.take.harp.custom).toEqual(start.take.harp.custom);
      const usual = edit(moved, { kind: 'harp', harp: { ...rest, key: 'D', tuning: 'richter' } }, AT)!.state;
      expect(usual.take.harp.custom).toEqual({ temperament: tempered });
      const plain = { key: 'D', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
      const none = edit(usual, { kind: 'harp', harp: plain }, AT)!.state;
      expect(none.take.harp).not.toHaveProperty('custom');
      const back = undo(undo(none, AT)!.state, AT)!.state;
      expect(checkTake(back.take, 'x').harp).toEqual(moved.take.harp);
    }),
    { numRuns: 30 },
  );
});

it.each([
  ['nine holes', { blow: [0, 4, 7, 12, 16, 19, 24, 28, 31] }],
  ['a hole with one note', { draw: [0, 7, 11, 14, 17, 21, 23, 26, 29, 33] }],
  ['half a semitone', { draw: [2.5, 7, 11, 14, 17, 21, 23, 26, 29, 33] }],
  ['a name that steers the terminal', { name: '\u001b[2J' }],
])('a take whose tuning has %s is damaged', (_, change) => {
  const names = (row: number[]) => row.map((midi) => noteName(60 + midi, 0));
  const own = parseCustomLayout({
    blow: names([0, 4, 7, 12, 16, 19, 24, 28, 31, 36]),
    draw: names([2, 7, 11, 14, 17, 21, 23, 26, 29, 33]),
  });
  expect(() => checkTake(takeOn({ layout: own }), 'x')).not.toThrow();
  expect(() => checkTake(takeOn({ layout: { ...own, ...change } }), 'x')).toThrow(/harp\.custom\.layout/);
});
