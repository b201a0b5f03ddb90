import { describe, expect, it } from 'vitest';
import { collectBends } from '../../../src/check/bends/collect.ts';
import { withoutCopies } from '../../../src/check/bends/dated-take.ts';
import { summariseBends } from '../../../src/check/bends/summary.ts';
import { trendOf } from '../../../src/check/progress/trend.ts';
import { strokesOf, takeOf } from '../student.ts';

/** A take of one bend, held so many cents off each time. */
const takeWith = (tab: string, cents: readonly number[], key = 'C') =>
  takeOf(
    cents.map((off, i) => ({ ...strokesOf(tab)[0], onset: i, changes: { cents: off } })),
    { key },
  );

describe('bends', () => {
  it('are grouped by hole and depth in any key, those that need most work first', () => {
    const { bends } = collectBends([
      { name: 'a', take: takeWith("-3''", [40, 50, 20]), date: null },
      { name: 'b', take: takeWith("-3''", [60], 'A'), date: null },
      { name: 'c', take: takeWith("-4'", [-5, 3, 0]), date: null },
    ]);
    const [first, second] = summariseBends(bends, 25);
    expect(first).toMatchObject({
      hole: 3,
      bend: 2,
      count: 4,
      short: 3,
      tooDeep: 0,
      withinTolerance: 0.25,
      medianCents: 45,
    });
    expect(second).toMatchObject({
      hole: 4,
      bend: 1,
      count: 3,
      withinTolerance: 1,
      medianCents: 0,
      trend: null,
    });
  });

  it('a miss between two depths belongs to the depth played elsewhere on that reed', () => {
    const doubtful = {
      confidence: 0.5,
      alternatives: [{ hole: 3, breath: 'draw' as const, bend: 2, over: false, confidence: 0.45 }],
    };
    const [shallow] = strokesOf("-3'");
    const deep = strokesOf("-3'' -3'' -3''");
    const strokes = [...deep, { ...shallow, onset: 3, changes: { cents: -50, ...doubtful } }];
    const { bends, leftOut } = collectBends([{ name: 'a', take: takeOf(strokes), date: null }]);
    expect(bends.map(({ bend, cents }) => [bend, Math.round(cents)])).toEqual([
      [2, 0],
      [2, 0],
      [2, 0],
      [2, 50],
    ]);
    expect(leftOut.inDoubt).toBe(0);
    // Nothing else on that reed says which bend was meant.
    const alone = collectBends([
      { name: 'a', take: takeOf([{ ...shallow, changes: { cents: -50, ...doubtful } }]), date: null },
    ]);
    expect(alone.leftOut.inDoubt).toBe(1);
    // Both readings are told, each with how far off it would be.
    expect(alone.doubtful[0].readings.map(({ tab, cents }) => [tab.bend, Math.round(cents)])).toEqual([
      [1, -50],
      [2, 50],
    ]);
    expect(alone.bends).toEqual([]);
  });

  it('are those that the tune asks for, if compared with one', () => {
    const take = takeOf(strokesOf("-3'' 4 -3 -4").map((stroke, i) => ({ ...stroke, onset: i })));
    const [bent, plain] = take.notes;
    const asked = new Map([
      // A bend that was missed by so much that it was read as another, and one where no bend is asked for.
      [plain.id, { target: { hole: 4, breath: 'draw' as const, bend: 1, over: false }, cents: 70 }],
      [bent.id, { target: null, cents: 0 }],
    ]);
    const { bends, leftOut } = collectBends([{ name: 'a', take, date: null, asked }]);
    expect(bends.map(({ hole, bend, cents }) => [hole, bend, cents])).toEqual([[4, 1, 70]]);
    expect(leftOut.notAsked).toBe(1);
  });

  it('inside chords are left out with that reason', () => {
    const [stroke] = strokesOf("-3'");
    const take = takeOf([{ ...stroke, changes: { holes: [2, 3] } }]);
    const { bends, leftOut } = collectBends([{ name: 'a', take, date: null }]);
    expect(bends).toEqual([]);
    expect(leftOut.inChord).toBe(1);
  });

  it('one missed note weighs less than ten missed by as much', () => {
    const { bends } = collectBends([
      { name: 'a', take: takeWith("-2'", [45]), date: null },
      { name: 'b', take: takeWith("-4'", [45, 44, 46, 45, 45, 45, 45, 45, 45, 45]), date: null },
    ]);
    expect(summariseBends(bends, 25).map(({ hole }) => hole)).toEqual([4, 2]);
  });

  it('include overbends: flat ones fall short, and over three days they have a trend', () => {
    const takes = [-60, -45, -30].map((cents, week) => ({
      name: `${week}`,
      take: takeWith('6o', [cents, cents]),
      date: `2026-03-0${1 + 2 * week}`,
    }));
    const [summary] = summariseBends(collectBends(takes).bends, 25);
    expect(summary).toMatchObject({
      hole: 6,
      breath: 'blow',
      bend: 0,
      over: true,
      count: 6,
      short: 6,
      tooDeep: 0,
    });
    // 15 cents nearer every two days.
    expect(summary.trend).toMatchObject({ direction: 'nearer', days: 3 });
    expect(summary.trend!.perWeek).toBeCloseTo(-52.5, 6);
  });

  it('are left out and counted if too short or doubtful', () => {
    const take = takeWith("-3'", [10, 20, 30]);
    const notes = [
      { ...take.notes[0], intonation: null },
      { ...take.notes[1], confidence: 0.3 },
      take.notes[2],
    ];
    const { bends, leftOut } = collectBends([{ name: 'a', take: { ...take, notes }, date: null }]);
    expect(leftOut).toEqual({ tooShort: 1, tooNoisy: 0, inDoubt: 1, inChord: 0, notAsked: 0 });
    expect(bends.map(({ cents }) => cents)).toEqual([30]);
  });
});

describe('trend', () => {
  const week = (w: number, value: number) => ({ day: 7 * w, value });

  it('is the slope of a straight line, sure when the points lie on it', () => {
    const trend = trendOf([week(0, 40), week(1, 36), week(2, 32), week(3, 28)])!;
    expect(trend.perWeek).toBeCloseTo(-4, 9);
    expect(trend.direction).toBe('nearer');
    expect(trendOf([week(0, 10), week(1, 14), week(2, 18)])!.direction).toBe('further');
  });

  it('agrees with a regression worked by hand: 30 24 27 18 20 gives -2.6 ± 3.139 a week [calc]', () => {
    const trend = trendOf([30, 24, 27, 18, 20].map((value, w) => week(w, value)))!;
    // Residuals 1.0 -2.4 3.2 -3.2 1.4, squares 29.2 over 3 degrees of freedom, over 10 for the weeks; t = 3.182.
    expect(trend.perWeek).toBeCloseTo(-2.6, 9);
    expect(trend.uncertainty).toBeCloseTo(3.139, 3);
    expect(trend.direction).toBe('none');
  });

  it('is none if chance could do as much, or with only two days', () => {
    expect(trendOf([week(0, 30), week(1, 10), week(2, 35), week(3, 12)])!.direction).toBe('none');
    expect(trendOf([week(0, 30), week(1, 10), { day: 7, value: 11 }])).toBeNull();
  });

  it('counts many notes of one day as one day', () => {
    const many = Array.from({ length: 50 }, () => week(2, 20));
    expect(trendOf([week(0, 30), week(1, 25), ...many])!.perWeek).toBeCloseTo(-5, 9);
  });
});

describe('a recording given twice', () => {
  const take = takeWith("-3''", [40, 50, 20]);

  it('counts once, as corrected', () => {
    const corrected = { ...take, edits: [{ at: '2026-03-02T10:00:00Z', op: 'delete', noteId: 'n1' }] };
    const takes = [
      { name: 'a', take, date: null },
      { name: 'b', take: { ...corrected, notes: take.notes.slice(1) } as typeof take, date: null },
      { name: 'a', take, date: null },
    ];
    const unique = withoutCopies(takes);
    expect(unique.takes.map(({ name }) => name)).toEqual(['b']);
    expect(unique.copies).toEqual([
      { name: 'a', of: 'b' },
      { name: 'a', of: 'b' },
    ]);
  });

  it('is recognised by its bytes and its notes together', () => {
    const other = { ...take, source: { ...take.source, sha256: 'f'.repeat(64) } };
    const elsewhere = takeWith("-3''", [10, 5, 0]);
    const takes = [take, other, elsewhere].map((one, i) => ({ name: String(i), take: one, date: null }));
    expect(withoutCopies(takes)).toEqual({ takes, copies: [] });
  });
});
