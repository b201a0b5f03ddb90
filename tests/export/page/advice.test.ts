import { describe, expect, it } from 'vitest';
import { adviceOfTake } from '../../../src/export/page/advice.ts';
import { changeTake } from '../../../src/take/edits/change.ts';
import { buildTake } from '../../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../../take/example.ts';

describe('what the teacher said in the correction screen', () => {
  const take = buildTake(EXAMPLE_SOURCE, exampleFindings(['4 -4 5', '6 -6', '5 4']));
  const lines = take.phrases.map(({ firstNote, lastNote }) => ({ first: firstNote, last: lastNote }));

  it('is at the lines of its phrases, and before the first for the whole take', () => {
    const soft = changeTake(take, { kind: 'advice', phrase: 1, text: 'keep it soft' });
    expect([...adviceOfTake(soft, lines)]).toEqual([[1, 'keep it soft']]);
    const both = changeTake(soft, { kind: 'advice', phrase: null, text: 'slowly' });
    expect([...adviceOfTake(both, lines)]).toEqual([
      [0, 'slowly'],
      [1, 'keep it soft'],
    ]);
    expect(adviceOfTake(take, lines).size).toBe(0);
  });
});
