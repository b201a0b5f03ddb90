import { describe, expect, it } from 'vitest';
import { TOLERANCES } from '../../../src/check/finding.ts';
import { type Judgement, judge } from '../../../src/check/judging/judge.ts';
import type { Take } from '../../../src/take/schema.ts';
import { referenceOf, strokesOf, takeOf } from '../student.ts';

const TUNE = strokesOf('4 -4 5 -5 6:2 -6 6 -5 5 -4 4:2');
const LONG = 4;
/** The long note of the tune as two that touch. */
const CUT = strokesOf('4 -4 5 -5 6 6 -6 6 -5 5 -4 4:2');

/** A take whose notes touch; `rises` says at which of those that are begun by breath or tongue the level rises. */
function takeIn(strokes: typeof TUNE, rises: (index: number) => boolean): Take {
  const take = takeOf(strokes);
  const notes = take.notes.map((note, i) => {
    const before = take.notes[i - 1];
    const again = before?.hole === note.hole && before.breath === note.breath;
    return {
      ...note,
      offsetSec: take.notes[i + 1]?.onsetSec ?? note.offsetSec,
      start: i === 0 ? ('silence' as const) : again ? ('tongue' as const) : ('breath' as const),
      tone: { attackSec: rises(i) ? 0.03 : null, levelSpreadDb: 0.5, brightness: 2 },
    };
  });
  return { ...take, notes: notes as Take['notes'] };
}

const check = (take: Take, wanted = TUNE): Judgement => judge(take, referenceOf(wanted), TOLERANCES);
const kinds = ({ findings }: Judgement): string[] => findings.map(({ kind }) => kind);

describe('a long note that is heard as two', () => {
  it('is left open, and reported, if the room fills every gap', () => {
    const judgement = check(takeIn(CUT, () => false));
    expect(kinds(judgement)).toEqual([]);
    expect(judgement.remarks.join()).toContain('does not show whether you tongued one note again');
    const joined = judgement.notes.find(({ referenceIndex }) => referenceIndex === LONG)!;
    expect(joined.note.offsetSec - joined.note.onsetSec).toBeCloseTo(1, 5);
  });

  it('is an extra note in a dry recording, and wherever a new onset is visible', () => {
    expect(kinds(check(takeIn(CUT, (i) => i !== LONG + 1)))).toEqual(['added']);
    expect(kinds(check(takeIn(CUT, (i) => i === LONG + 1)))).toEqual(['added']);
  });

  it('is an extra note if it took up time', () => {
    const longer = strokesOf('4 -4 5 -5 6:2 6:2 -6 6 -5 5 -4 4:2');
    expect(kinds(check(takeIn(longer, () => false)))).toContain('added');
  });

  it('is not reported again if another note was inserted', () => {
    const other = strokesOf('4 -4 5 -5 6 5 -6 6 -5 5 -4 4:2');
    expect(kinds(check(takeIn(other, () => false)))).toEqual(['added']);
  });
});

const REPEATS = strokesOf('6 6 6 6 -6 -6 -6 -6 6 6 6 6 -6 -6 -6 -6 5 5 -4 -4 4:2');
const HELD = strokesOf('6 6 6 6 -6 -6 -6 -6 6 6 6 6 -6 -6 -6 -6 5:2 -4 -4 4:2');

describe('a repeat that is heard as one long note', () => {
  it('is held through in a dry recording, and left open in a room', () => {
    expect(
      kinds(
        check(
          takeIn(HELD, () => true),
          REPEATS,
        ),
      ),
    ).toEqual(['missed']);
    const inRoom = check(
      takeIn(HELD, () => false),
      REPEATS,
    );
    expect(kinds(inRoom)).toEqual([]);
    expect(inRoom.remarks.join()).toContain("can't be heard apart");
  });

  it('is left open if a second onset was heard too softly to be sure', () => {
    const held = takeIn(HELD, () => true);
    const long = HELD.findIndex(({ length }) => length > 1);
    const kindsWith = (heard: Partial<Take['notes'][number]>): string[] => {
      const notes = held.notes.map((note, i) => (i === long ? { ...note, ...heard } : note));
      return kinds(check({ ...held, notes }, REPEATS));
    };
    const { onsetSec } = held.notes[long];
    expect(kindsWith({ flags: ['maybe-two'] })).toEqual([]);
    expect(kindsWith({ againSec: onsetSec + 0.4 })).toEqual([]);
    expect(kindsWith({ againSec: onsetSec + 0.4, flags: ['accepted'] })).not.toEqual([]);
  });

  it('is not early if the room may have cut the note before', () => {
    const early = strokesOf('4 -4 5 -5 6 6 -6 6 -5 5 -4 4:2').map((stroke, i) =>
      i === 5 ? { ...stroke, lateSec: -0.2 } : stroke,
    );
    expect(
      kinds(
        check(
          takeIn(early, () => true),
          CUT,
        ),
      ),
    ).toContain('early');
    expect(
      kinds(
        check(
          takeIn(early, () => false),
          CUT,
        ),
      ),
    ).not.toContain('early');
  });
});

describe('a sure pitch on an unsure hole', () => {
  it('counts as played', () => {
    const tune = strokesOf('1 -1 -2 3 4 -4 4 -2 -1 1:2');
    const take = takeOf(tune);
    const unsure = take.notes.map((note) =>
      note.hole === 2 || note.hole === 3
        ? {
            ...note,
            confidence: 0.36,
            alternatives: [
              {
                hole: note.hole === 2 ? 3 : 2,
                breath: note.hole === 2 ? ('blow' as const) : ('draw' as const),
                bend: 0,
                over: false,
                confidence: 0.34,
              },
            ],
          }
        : note,
    );
    expect(kinds(check({ ...take, notes: unsure as Take['notes'] }, tune))).toEqual([]);
  });
});
