import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { playableNotes } from '../../../src/harp/playable.ts';
import type { TabNote } from '../../../src/tab/tab-note.ts';
import { formatTabNote, parseTabToken } from '../../../src/tab/text.ts';
import type { EditAction } from '../../../src/take/edits/action.ts';
import { SHORTEST_NOTE_SEC } from '../../../src/take/edits/change-notes.ts';
import type { Edit } from '../../../src/take/edits/edit.ts';
import {
  type EditedTake,
  edit,
  editsOf,
  openEdits,
  redo,
  replay,
  undo,
} from '../../../src/take/edits/edits.ts';
import { formatTake } from '../../../src/take/format.ts';
import { checkTake, parseTake } from '../../../src/take/parse.ts';
import type { Take } from '../../../src/take/schema.ts';
import { buildTake } from '../../../src/take/take.ts';
import { alignLine, lineUnder, wordsUnder } from '../../../src/take/words.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../example.ts';

const AT = { at: '2026-11-25T12:00:00.000Z' };
const tab = (text: string) => parseTabToken(text) as TabNote;
const C_HARP = playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 });
const f0Of = (note: TabNote) =>
  C_HARP.find((p) => formatTabNote(p) === formatTabNote(note))?.f0Hz ?? Number.NaN;

/** A take whose notes sound as the C harp gives them. */
function exampleTake(lines: readonly string[] = ['4 -4 5 -5', "-2 -3'' -3 4", '4 -4 5 -5']): Take {
  const findings = exampleFindings(lines);
  const notes = findings.notes.map((note) => {
    const f0Hz = f0Of(note);
    return { ...note, f0Hz, midi: 69 + 12 * Math.log2(f0Hz / 440) };
  });
  return buildTake(EXAMPLE_SOURCE, { ...findings, notes });
}

function doing(state: EditedTake, ...actions: EditAction[]): EditedTake {
  return actions.reduce((now, action) => edit(now, action, AT)?.state ?? now, state);
}
const tabOfTake = (take: Take) => take.notes.map((note) => formatTabNote(note)).join(' ');
const times = (take: Take) => take.notes.map(({ onsetSec, offsetSec }) => [onsetSec, offsetSec]);
/** All but the list of edits, which only grows. */
const content = ({ edits: _, ...rest }: Take) => rest;

describe('one edit', () => {
  const start = openEdits(exampleTake());

  it('gives a note another reading, makes it sure and keeps the old reading next in line', () => {
    const { take } = doing(start, { kind: 'read', ids: ['n5'], as: tab('3') });
    expect(take.notes[4]).toMatchObject({ ...tab('3'), confidence: 1, flags: ['corrected'] });
    expect(take.notes[4].alternatives[0]).toEqual({ ...tab('-2'), confidence: 0 });
    // 2 draw and 3 blow of a C harp are both G4 (OEIS A291810): the pitch still fits.
    expect(take.notes[4].cents).toBeCloseTo(0, 6);
  });

  it('measures cents against the new target', () => {
    const { take } = doing(start, { kind: 'read', ids: ['n7'], as: tab("-3'") });
    // A whole reed against its semitone bend: 100 cents, by definition of the semitone.
    expect(take.notes[6].cents).toBeCloseTo(100, 6);
  });

  it('changes nothing if the harp has no such note', () => {
    expect(edit(start, { kind: 'read', ids: ['n1'], as: tab("4'") }, AT)).toBeNull();
    expect(edit(start, { kind: 'read', ids: ['n99'], as: tab('4') }, AT)).toBeNull();
  });

  it('accepts a note', () => {
    const { take } = doing(start, { kind: 'accept', ids: ['n2'] });
    expect(take.notes[1]).toMatchObject({ confidence: 1, flags: ['accepted'], hole: 4, breath: 'draw' });
    expect(edit({ ...start, take }, { kind: 'accept', ids: ['n2'] }, AT)).toBeNull();
  });

  it('moves an onset up to the neighbour and no further', () => {
    const move = (toSec: number) =>
      doing(start, { kind: 'move', id: 'n2', edge: 'onset', toSec }).take.notes[1].onsetSec;
    expect(move(0.85)).toBe(0.85);
    expect(move(0)).toBe(0.8); // where n1 ends
    expect(move(9)).toBeCloseTo(1.2 - SHORTEST_NOTE_SEC, 9);
  });

  it('moves both notes if they touch', () => {
    const joined = doing(start, { kind: 'move', id: 'n1', edge: 'offset', toSec: 0.9 });
    const { take } = doing(joined, { kind: 'move', id: 'n1', edge: 'offset', toSec: 0.95 });
    expect(take.notes[0].offsetSec).toBe(0.95);
    expect(take.notes[1].onsetSec).toBe(0.95);
  });

  it('splits and merges', () => {
    const split = doing(start, { kind: 'split', id: 'n2', atSec: 1.05 });
    expect(times(split.take).slice(1, 3)).toEqual([
      [0.9, 1.05],
      [1.05, 1.2],
    ]);
    expect(split.take.notes[2].id).toBe('n13');
    expect(split.take.phrases.map(({ firstNote, lastNote }) => [firstNote, lastNote])).toEqual([
      [0, 4],
      [5, 8],
      [9, 12],
    ]);
    const merged = doing(split, { kind: 'merge', id: 'n2' });
    expect(times(merged.take)).toEqual(times(start.take));
  });

  it('inserts a missed note, but only if there is room', () => {
    const insert = (onsetSec: number, offsetSec: number) =>
      edit(start, { kind: 'insert', onsetSec, offsetSec, as: tab('6') }, AT);
    expect(insert(1.9, 2.2)).toBeNull(); // over n4
    const take = insert(2.2, 2.5)?.state.take as Take;
    expect(tabOfTake(take)).toBe("4 -4 5 -5 6 -2 -3'' -3 4 4 -4 5 -5");
    expect(take.notes[4]).toMatchObject({ id: 'n13', f0Hz: f0Of(tab('6')), cents: 0 });
  });

  it('never gives an id twice', () => {
    const gone = doing(
      start,
      { kind: 'insert', onsetSec: 2.2, offsetSec: 2.5, as: tab('6') },
      { kind: 'delete', ids: ['n13'] },
      { kind: 'insert', onsetSec: 2.2, offsetSec: 2.5, as: tab('6') },
    );
    expect(gone.take.notes[4].id).toBe('n14');
  });

  it('deletes notes with their phrase, and keeps their words', () => {
    const ids = ['n5', 'n6', 'n7', 'n8'];
    const worded = doing(start, { kind: 'words', verse: 1, ids, ...alignLine('all gone', ids) });
    const { take } = doing(worded, { kind: 'delete', ids });
    expect(take.phrases.map(({ firstNote, lastNote }) => [firstNote, lastNote])).toEqual([
      [0, 3],
      [4, 7],
    ]);
    expect(take.words.map(({ text, noteId }) => [text, noteId])).toEqual([
      ['all', null],
      ['gone', null],
    ]);
  });

  it('reads all notes again on another harp, except settled ones', () => {
    const settled = doing(start, { kind: 'read', ids: ['n5'], as: tab('3') });
    const { take } = doing(settled, {
      kind: 'harp',
      harp: { key: 'F', tuning: 'richter', temperament: 'equal', a4Hz: 440 },
    });
    expect(take.harp).toMatchObject({ key: 'F', confidence: 1 });
    expect(formatTabNote(take.notes[4])).toBe('3');
    // C5 D5 E5 F5 on a harp in F (F4 A4 C5 F5 / G4 C5 E5 G5, Richter offsets of OEIS A291810): D5 is the whole-tone
    // bend of 3 draw.
    expect(tabOfTake(take).split(' ').slice(8)).toEqual(['-2', "-3''", '-3', '4']);
    expect(take.notes.every(({ cents }, i) => i === 4 || Math.abs(cents) < 1)).toBe(true);
  });

  it('says which phrase repeats which, after a correction', () => {
    const changed = doing(start, { kind: 'read', ids: ['n9'], as: tab("-3'") });
    expect(start.take.phrases[2].label).toBe('A');
    expect(changed.take.phrases[2].label).toBe("A'");
  });

  it('copies readings to other notes', () => {
    const { take } = doing(
      start,
      { kind: 'read', ids: ['n5'], as: tab('3') },
      {
        kind: 'carry',
        pairs: [
          ['n5', 'n8'],
          ['n1', 'n12'],
        ],
      },
    );
    expect(tabOfTake(take)).toBe("4 -4 5 -5 3 -3'' -3 3 4 -4 5 4");
  });
});

describe('words', () => {
  const ids = ['n1', 'n2', 'n3', 'n4'];
  it.each([
    ['old Joe Clark', ['old', 'Joe', 'Clark']],
    ['Su-san-na cries', ['Su-', 'san-', 'na', 'cries']],
    ['oh_ _ dear', ['oh', '_', '_', 'dear']],
    ['* two * four', [undefined, 'two', undefined, 'four']],
    ['of~the sea', ['of the', 'sea']],
    ['日本 の うみ', ['日本', 'の', 'うみ']],
  ])('"%s" falls under the notes', (line, expected) => {
    const take = doing(openEdits(exampleTake()), {
      kind: 'words',
      verse: 1,
      ids,
      ...alignLine(line, ids),
    }).take;
    const under = wordsUnder(take);
    expect(ids.slice(0, expected.length).map((id) => under.get(id))).toEqual(expected);
    expect(alignLine(lineUnder(under, ids), ids)).toEqual(alignLine(line, ids));
    expect(checkTake(take, 'x')).toBeTruthy();
  });

  it('hold a syllable up to the next one at most', () => {
    const [oh, dear] = alignLine('oh dear', ['n1', 'n2']).syllables;
    const words = [{ ...oh, holds: 3 }, dear];
    expect([...wordsUnder({ ...exampleTake(), words })]).toEqual([
      ['n1', 'oh'],
      ['n2', 'dear'],
    ]);
  });

  it('keep syllables without a note', () => {
    expect(alignLine('one two three', ['n1'])).toMatchObject({ over: 2, notes: 1 });
    expect(alignLine('one two three', ['n1']).syllables.map(({ text }) => text)).toEqual([
      'one',
      'two',
      'three',
    ]);
  });
});

// Random sessions.
const anyTab = fc.constantFrom(
  ...C_HARP.map(({ hole, breath, bend, over }) => ({ hole, breath, bend, over })),
);
const anyId = fc.integer({ min: 1, max: 20 }).map((n) => `n${n}`);
const anySec = fc.double({ min: -1, max: 33, noNaN: true });
const anyAction: fc.Arbitrary<EditAction> = fc.oneof(
  fc.record({ kind: fc.constant('read' as const), ids: fc.array(anyId, { maxLength: 3 }), as: anyTab }),
  fc.record({ kind: fc.constant('accept' as const), ids: fc.array(anyId, { maxLength: 3 }) }),
  fc.record({
    kind: fc.constant('move' as const),
    id: anyId,
    edge: fc.constantFrom('onset' as const, 'offset' as const),
    toSec: anySec,
  }),
  fc.record({ kind: fc.constant('split' as const), id: anyId, atSec: anySec }),
  fc.record({ kind: fc.constant('merge' as const), id: anyId }),
  fc.record({
    kind: fc.constant('insert' as const),
    onsetSec: anySec,
    offsetSec: anySec,
    as: anyTab,
  }),
  fc.record({ kind: fc.constant('delete' as const), ids: fc.array(anyId, { maxLength: 2 }) }),
  fc.record({
    kind: fc.constant('harp' as const),
    harp: fc.record({
      key: fc.constantFrom('C', 'D', 'low F'),
      tuning: fc.constantFrom('richter', 'country'),
      temperament: fc.constant('equal'),
      a4Hz: fc.constantFrom(440, 443),
    }),
  }),
  fc.record({
    kind: fc.constant('carry' as const),
    pairs: fc.array(fc.tuple(anyId, anyId), { maxLength: 3 }),
  }),
  fc.tuple(fc.array(anyId, { maxLength: 4 }), fc.constantFrom('a b-c _ d', '* x', '')).map(([ids, line]) => ({
    kind: 'words' as const,
    verse: 1,
    ids,
    syllables: alignLine(line, ids).syllables,
  })),
);
const anySession = fc.array(fc.oneof({ arbitrary: anyAction, weight: 5 }, fc.constantFrom('undo', 'redo')), {
  maxLength: 25,
});

function play(start: EditedTake, session: readonly (EditAction | 'undo' | 'redo')[]) {
  let state = start;
  const lines: Edit[] = [];
  for (const step of session) {
    const done =
      step === 'undo' ? undo(state, AT) : step === 'redo' ? redo(state, AT) : edit(state, step, AT);
    if (done === null) continue;
    state = done.state;
    lines.push(done.edit);
  }
  return { state, lines };
}

describe('any session', () => {
  const start = openEdits(exampleTake());

  it('is back in its first state when all is undone, and in its last when all is redone', () => {
    fc.assert(
      fc.property(anySession, (session) => {
        const { state } = play(start, session);
        let back = state;
        for (let step = undo(back, AT); step !== null; step = undo(back, AT)) back = step.state;
        expect(content(back.take)).toEqual(content(start.take));
        for (let step = undo(back, AT); step !== null; step = undo(back, AT)) back = step.state;
        const far = state.undone.length;
        let forth = back;
        for (let i = back.undone.length; i > far; i--) forth = redo(forth, AT)?.state ?? forth;
        expect(content(forth.take)).toEqual(content(state.take));
      }),
      { numRuns: 150 },
    );
  });

  it('is the same after being saved and read', () => {
    fc.assert(
      fc.property(anySession, fc.nat(25), (session, night) => {
        const { state } = play(start, session);
        const evening = play(start, session.slice(0, night)).state;
        const morning = openEdits(parseTake(formatTake(evening.take), 'x'));
        expect(morning.done).toEqual(evening.done);
        expect(morning.undone).toEqual(evening.undone);
        expect(play(morning, session.slice(night)).state.take).toEqual(state.take);
      }),
      { numRuns: 80 },
    );
  });

  it('is the same when replayed from its edits', () => {
    fc.assert(
      fc.property(anySession, (session) => {
        const { state, lines } = play(start, session);
        expect(replay(start, JSON.parse(JSON.stringify(lines)))).toEqual(state);
        expect(editsOf(state.take)).toEqual(lines);
      }),
      { numRuns: 80 },
    );
  });

  it('leaves a valid take, with notes in order, separate and inside the recording', () => {
    fc.assert(
      fc.property(anySession, (session) => {
        const { take } = play(start, session).state;
        checkTake(take, 'x');
        take.notes.forEach((note, i) => {
          expect(note.onsetSec).toBeGreaterThanOrEqual(i === 0 ? 0 : take.notes[i - 1].offsetSec);
          expect(note.offsetSec - note.onsetSec).toBeGreaterThan(SHORTEST_NOTE_SEC - 1e-9);
          expect(note.offsetSec).toBeLessThanOrEqual(take.source.durationSec);
          const sum = note.alternatives.reduce((total, other) => total + other.confidence, note.confidence);
          expect(sum).toBeLessThan(1 + 1e-6);
        });
      }),
      { numRuns: 150 },
    );
  });
});
