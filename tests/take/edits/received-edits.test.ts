import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Edit } from '../../../src/take/edits/edit.ts';
import { applyEdit, edit, openEdits, redo, undo } from '../../../src/take/edits/edits.ts';
import { formatTake } from '../../../src/take/format.ts';
import { checkTake, parseTake } from '../../../src/take/parse.ts';
import type { Take } from '../../../src/take/schema.ts';
import { buildTake } from '../../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../example.ts';

const TAKE = buildTake(EXAMPLE_SOURCE, exampleFindings(['4 -4 5 -5', '-2 -3 4 -4']));
const AT = { at: '2026-11-25T12:00:00.000Z' };

/** The take as someone sent it: one edit in it, which says that these were the notes before. */
function received(patch: unknown): Take {
  const line = { seq: 1, ...AT, by: 'player', what: 'accept', patch } as unknown as Take['edits'][number];
  return parseTake(formatTake({ ...TAKE, edits: [line] }), 'received.take.json');
}

const [first] = TAKE.notes;
const noteTo = (before: object) => ({ notes: [{ id: first.id, before, after: {} }] });

describe('an edit that came with a take', () => {
  it.each<[string, unknown]>([
    ['a flag that is no text', noteTo({ flags: [7] })],
    ['a hole that no harp has', noteTo({ hole: 99 })],
    [
      'a note without its pitch',
      { notes: [{ id: first.id, before: { cents: 1 }, after: { f0Hz: first.f0Hz } }] },
    ],
    ['a note of nothing', { notes: [{ id: 'new', before: {}, after: null, at: 0 }] }],
    ['a note that is there twice', { notes: [{ id: 'new', before: first, after: null, at: 1 }] }],
    ['a note that ends before it begins', noteTo({ onsetSec: 1e6 })],
    [
      'escape sequences in words',
      {
        words: {
          before: [{ verse: 1, text: '\u001b[2J', syllabic: 'single', noteId: null, holds: 0 }],
          after: [],
        },
      },
    ],
    [
      'escape sequences in the key',
      { harp: { before: { ...TAKE.harp, key: '\u001b]0;x\u0007' }, after: TAKE.harp } },
    ],
    ['a harp of null', { harp: { before: null, after: TAKE.harp } }],
    [
      'phrases beyond the notes',
      { phrases: { before: [{ firstNote: 0, lastNote: 1e9 }], after: TAKE.phrases } },
    ],
    ['a patch of null', null],
    ['notes of null', { notes: [null] }],
    ['a note of null and null', { notes: [{ id: first.id, before: null, after: null }] }],
    ['a place before the first', { notes: [{ id: 'new', before: first, after: null, at: -5 }] }],
    ['a part that is a number', { words: 7 }],
  ])('that would bring %s is not undone', (_what, patch) => {
    const open = openEdits(received(patch));
    expect(undo(open, AT)).toBeNull();
    expect(redo(open, AT)).toBeNull();
  });

  it('leaves a valid take when undone, whatever its patch says', () => {
    const values = fc.oneof(
      fc.constantFrom(
        null,
        -1,
        0,
        0.5,
        1e308,
        '',
        '\u001b[2J',
        [],
        {},
        TAKE.harp,
        TAKE.words,
        TAKE.phrases,
        first,
      ),
      fc.jsonValue({ maxDepth: 2 }),
    );
    const fields = fc.dictionary(fc.constantFrom(...Object.keys(first)), values, { maxKeys: 3 });
    const notes = fc.array(
      fc.record({
        id: fc.constantFrom('n1', 'n2', 'n3', 'new'),
        before: fc.oneof(fc.constant(null), fields, fc.constant(first)),
        after: fc.constantFrom(null, {}, {}, {}),
        at: fc.oneof({ weight: 4, arbitrary: fc.nat(9) }, values),
      }),
      { maxLength: 3 },
    );
    const part = (now: unknown) =>
      fc.record({ before: fc.oneof(fc.constant(now), values), after: fc.constant(now) });
    const patches = fc.record(
      {
        notes,
        harp: part(TAKE.harp),
        words: part(TAKE.words),
        phrases: part(TAKE.phrases),
        beats: part(TAKE.beats),
      },
      { requiredKeys: [] },
    );
    let undone = 0;
    fc.assert(
      fc.property(patches, (patch) => {
        const done = undo(openEdits(received(patch)), AT);
        if (done === null) return;
        undone++;
        expect(() => checkTake(JSON.parse(formatTake(done.state.take)), 'after')).not.toThrow();
      }),
      { numRuns: 600, seed: 23 },
    );
    expect(undone).toBeGreaterThan(10);
  });

  it('of unknown form ends what can be undone', () => {
    const known = edit(openEdits(received({})), { kind: 'accept', ids: ['n2'] }, AT);
    expect(known?.state.done).toEqual([1, 2]);
    const unknown = { ...TAKE, edits: [{ seq: 1, what: 'later' } as unknown as Take['edits'][number]] };
    expect(openEdits(unknown).done).toEqual([]);
  });

  it('is refused when applied, too', () => {
    const line = {
      seq: 1,
      ...AT,
      by: 'player',
      what: 'accept',
      patch: { notes: [{ id: 'n1', before: {}, after: { hole: 11 } }] },
    };
    expect(() => applyEdit(openEdits(TAKE), line as unknown as Edit)).toThrow(RangeError);
  });
});
