import { describe, expect, it } from 'vitest';
import type { TabNote } from '../../src/tab/tab-note.ts';
import { formatTabNote, parseTabToken } from '../../src/tab/text.ts';
import type { EditAction } from '../../src/take/edits/action.ts';
import { type EditedTake, edit, openEdits, undo } from '../../src/take/edits/edits.ts';
import { mergePatch } from '../../src/take/edits/merge.ts';
import { formatTake } from '../../src/take/format.ts';
import { parseTake } from '../../src/take/parse.ts';
import type { Take } from '../../src/take/schema.ts';
import { buildTake } from '../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleFindings } from './example.ts';

const AT = { at: '2026-11-25T12:00:00.000Z' };
const tab = (text: string) => parseTabToken(text) as TabNote;
const LINES = ['4 -4 5 -5', '6 -6 6', '5 4'];

/** The take after some actions; what it holds must be readable again, and undoing must give back what was there. */
function doing(start: Take, ...actions: EditAction[]): Take {
  let state: EditedTake = openEdits(start);
  for (const action of actions) {
    const done = edit(state, action, AT);
    if (done === null) throw new Error(`changes nothing: ${action.kind}`);
    state = done.state;
  }
  const { take } = state;
  expect(parseTake(formatTake(take), 'take')).toEqual(JSON.parse(formatTake(take)));
  let back = state;
  for (let step = 0; step < actions.length; step++) back = undo(back, AT)?.state ?? back;
  expect({ ...back.take, edits: [] }).toEqual({ ...start, edits: [] });
  return take;
}
const phrasesOf = ({ phrases }: Take) => phrases.map(({ firstNote, lastNote }) => [firstNote, lastNote]);

describe('notes moved to another phrase', () => {
  const take = buildTake(EXAMPLE_SOURCE, exampleFindings(LINES));
  const moved = (first: number, last: number) =>
    phrasesOf(doing(take, { kind: 'other-phrase', first, last }));

  it('join the neighbouring phrase', () => {
    expect(phrasesOf(take)).toEqual([[0, 3], [4, 6], [7, 8]]); // biome-ignore format: pairs
    expect(moved(4, 5)).toEqual([[0, 5], [6, 6], [7, 8]]); // biome-ignore format: pairs
    expect(moved(2, 3)).toEqual([[0, 1], [2, 6], [7, 8]]); // biome-ignore format: pairs
  });

  it('move their whole phrase', () => {
    expect(moved(4, 6)).toEqual([[0, 6], [7, 8]]); // biome-ignore format: pairs
    expect(moved(0, 3)).toEqual([[0, 6], [7, 8]]); // biome-ignore format: pairs
  });

  it('become a phrase of their own in the middle of one and at the ends of the tune', () => {
    expect(moved(1, 2)).toEqual([[0, 0], [1, 2], [3, 3], [4, 6], [7, 8]]); // biome-ignore format: pairs
    expect(moved(0, 0)).toEqual([[0, 0], [1, 3], [4, 6], [7, 8]]); // biome-ignore format: pairs
    expect(moved(8, 8)).toEqual([[0, 3], [4, 6], [7, 7], [8, 8]]); // biome-ignore format: pairs
  });

  it('must be of one phrase', () => {
    expect(edit(openEdits(take), { kind: 'other-phrase', first: 3, last: 4 }, AT)).toBeNull();
  });
});

describe('what is said about a tune', () => {
  const take = buildTake(EXAMPLE_SOURCE, exampleFindings(LINES));

  it('is its title and what the teacher says, removed by an empty text', () => {
    const said = doing(
      take,
      { kind: 'title', title: 'Low tide' },
      { kind: 'advice', phrase: 1, text: 'keep it soft' },
      { kind: 'advice', phrase: null, text: 'slowly at first' },
    );
    expect(said).toMatchObject({ title: 'Low tide', advice: 'slowly at first' });
    expect(said.phrases.map(({ advice }) => advice)).toEqual([undefined, 'keep it soft', undefined]);
    const none = doing(said, { kind: 'title', title: '' }, { kind: 'advice', phrase: 1, text: '' });
    expect('title' in none).toBe(false);
    expect('advice' in none.phrases[1]).toBe(false);
  });

  it('stays with the first half of a split phrase and is joined with it', () => {
    const said = doing(
      take,
      { kind: 'advice', phrase: 0, text: 'soft' },
      { kind: 'advice', phrase: 1, text: 'loud' },
    );
    expect(doing(said, { kind: 'phrase-break', at: 2 }).phrases.map(({ advice }) => advice)).toEqual([
      'soft',
      undefined,
      'loud',
      undefined,
    ]);
    expect(doing(said, { kind: 'phrase-break', at: 4 }).phrases[0].advice).toBe('soft loud');
  });

  it("is merged into another program's take if that says nothing about it", () => {
    const mine = doing(take, { kind: 'title', title: 'Low tide' });
    const notes = doing(take, { kind: 'delete', ids: ['n1'] });
    expect(mergePatch(take, mine, notes)).toMatchObject({ title: { after: 'Low tide' } });
    expect(mergePatch(take, mine, doing(take, { kind: 'title', title: 'High tide' }))).toBeNull();
  });
});

describe('a bar that begins with a note', () => {
  // Quarter notes at 150 to the minute, one pick-up note too many or none.
  const even = exampleFindings(['4 -4 5 -5 6 -6 6 5 4 -4 5 -5 6 -6 6 5 4']);
  const take = doing(buildTake(EXAMPLE_SOURCE, even), {
    kind: 'say-beats',
    beats: { metre: { count: 4, unit: 4 }, tempoBpm: 150 },
  });
  const isFirst = ({ beats }: Take, id: string) =>
    beats.notes !== undefined && (beats.notes.find((note) => note.id === id)?.atTicks ?? 1) % 48 === 0;

  it('begins there, even when the grid is found again', () => {
    for (const id of ['n1', 'n2', 'n3', 'n4', 'n6']) {
      if (isFirst(take, id)) continue;
      const barred = doing(take, { kind: 'downbeat', id });
      expect(isFirst(barred, id), id).toBe(true);
      const anew = doing(barred, { kind: 'say-beats', beats: { tempoBpm: 148 } });
      expect(isFirst(anew, id), `${id} anew`).toBe(true);
    }
  });
});

describe('a sound that was left out', () => {
  const leftOut = [
    { onsetSec: 0.1, offsetSec: 0.4, f0Hz: 523, why: 'doubtful' },
    { onsetSec: 2.05, offsetSec: 3.2, f0Hz: 590, why: 'talk' },
  ] as const;
  const take = buildTake(EXAMPLE_SOURCE, { ...exampleFindings(LINES), leftOut });

  it('becomes a note between its neighbours, and is left out again when that is deleted', () => {
    const back = doing(take, { kind: 'bring-back', onsetSec: 2.05, as: tab('-4') });
    expect(back.notes.map((note) => formatTabNote(note)).join(' ')).toBe('4 -4 5 -5 -4 6 -6 6 5 4');
    const note = back.notes[4];
    expect(note).toMatchObject({ onsetSec: 2.05, f0Hz: 590, leftOutAs: 'talk' });
    expect(note.offsetSec).toBeLessThanOrEqual(back.notes[5].onsetSec);
    expect(back.leftOut).toEqual([leftOut[0]]);
    const out = doing(back, { kind: 'delete', ids: [note.id, 'n1'] });
    expect(out.leftOut).toMatchObject([leftOut[0], { onsetSec: 2.05, f0Hz: 590, why: 'talk' }]);
    expect(out.notes).toHaveLength(8);
  });

  it('stays left out if there is no room or no such sound', () => {
    const start = openEdits(take);
    expect(edit(start, { kind: 'bring-back', onsetSec: 1, as: tab('4') }, AT)).toBeNull();
    const crowded = doing(take, { kind: 'move', id: 'n1', edge: 'onset', toSec: 0.1 });
    expect(edit(openEdits(crowded), { kind: 'bring-back', onsetSec: 0.1, as: tab('4') }, AT)).toBeNull();
  });
});

describe('several holes of a note', () => {
  const take = buildTake(EXAMPLE_SOURCE, exampleFindings(LINES));

  it('can be read and copied, and are gone when it becomes one hole', () => {
    const chord = doing(take, { kind: 'read', ids: ['n2'], as: tab('-4+5') });
    expect(formatTabNote(chord.notes[1])).toBe('-4+5');
    const shake = doing(chord, { kind: 'read', ids: ['n2'], as: tab('-4w5') });
    expect(formatTabNote(shake.notes[1])).toBe('-4w5');
    const carried = doing(shake, { kind: 'carry', pairs: [['n2', 'n3']] });
    expect(formatTabNote(carried.notes[2])).toBe('-4w5');
    const single = doing(shake, { kind: 'read', ids: ['n2'], as: tab('-4') });
    expect(formatTabNote(single.notes[1])).toBe('-4');
  });

  it('are kept in the take', () => {
    const ornament = { kind: 'scoop', fromCents: -60, durationSec: 0.1 } as const;
    const scooped = doing(take, { kind: 'ornaments', notes: [['n1', [ornament]]] });
    expect(scooped.notes[0].ornament).toEqual(ornament);
    expect(doing(scooped, { kind: 'ornaments', notes: [['n1', []]] }).notes[0].ornament).toBeUndefined();
  });

  it('are no longer a shake when it becomes one hole', () => {
    const ornament = { kind: 'shake', notesPerSec: 12 } as const;
    const shake = doing(take, { kind: 'read', ids: ['n2'], as: tab('-4w5') });
    const shaken = doing(shake, { kind: 'ornaments', notes: [['n2', [ornament]]] });
    expect(shaken.notes[1].ornament).toEqual(ornament);
    expect(doing(shaken, { kind: 'read', ids: ['n2'], as: tab('-4+5') }).notes[1].ornament).toBeUndefined();
  });
});
