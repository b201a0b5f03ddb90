import { expect, it } from 'vitest';
import { linesInTeacher } from '../../../src/cli/export/teacher.ts';
import { parseAdvice } from '../../../src/export/page/advice.ts';

it('reads what is said to lines, by their number or their place', () => {
  expect([...parseAdvice('Sing it first\n\n2: low\nline 2. and slow\n-\n', 6, 'n')]).toEqual([
    [0, 'Sing it first'],
    [1, 'low and slow'],
  ]);
  expect(() => parseAdvice('7: no', 6, 'n')).toThrow(expect.objectContaining({ code: 'E_USAGE' }));
});

it('finds the lines of the pupil in the take of the teacher', () => {
  const note = (id: string, onsetSec: number) => ({ id, onsetSec, offsetSec: onsetSec + 0.5 }) as never;
  const pupil = { notes: ['a', 'b', 'c', 'd'].map((id, i) => note(id, i)) };
  const teacher = { notes: ['t0', 't1', 't2'].map((id, i) => note(id, 10 + i)) };
  const judged = [
    { note: pupil.notes[0], referenceIndex: 0 },
    { note: pupil.notes[1], referenceIndex: 2 },
    { note: pupil.notes[2], referenceIndex: null },
    { note: pupil.notes[3], referenceIndex: null },
  ] as never;
  const lines = [
    { first: 0, last: 1 },
    { first: 2, last: 3 },
  ];
  const [one, two] = linesInTeacher(lines, judged, teacher, pupil);
  expect(one!.fromSec).toBeCloseTo(9.92, 6);
  expect(one!.toSec).toBeCloseTo(12.58, 6);
  expect(two).toBeNull();
});
