import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { TUNES } from '../../../samples/tunes.ts';
import { adviceOf } from '../../../src/check/advice/advice.ts';
import { wentWell } from '../../../src/check/advice/went-well.ts';
import { againstEqual } from '../../../src/check/align/equal.ts';
import { referenceFromTake } from '../../../src/check/align/reference.ts';
import { type Finding, TOLERANCES } from '../../../src/check/finding.ts';
import { judge } from '../../../src/check/judging/judge.ts';
import { scoreOf } from '../../../src/check/score.ts';
import { HARP_KEYS } from '../../../src/harp/keys.ts';
import { naturalReeds } from '../../../src/harp/playable.ts';
import type { Take } from '../../../src/take/schema.ts';
import { randomOf, referenceOf, type Stroke, strokesOf, takeOf } from '../student.ts';

const SCALE = strokesOf('4 -4 5 -5 6 -6 -7 7 7 -7 -6 6 -5 5 -4 4:2');

const findingsOf = (
  played: readonly Stroke[],
  wanted: readonly Stroke[] = SCALE,
  changes: Partial<typeof TOLERANCES> = {},
): readonly Finding[] => judge(takeOf(played), referenceOf(wanted), { ...TOLERANCES, ...changes }).findings;

const changed = (index: number, change: Partial<Stroke>): Stroke[] =>
  SCALE.map((stroke, i) => (i === index ? { ...stroke, ...change } : stroke));

const tab = (sign: string): Stroke['tab'] => strokesOf(sign)[0].tab;

describe('no faults found', () => {
  it('a tune played as written', () => expect(findingsOf(SCALE)).toEqual([]));

  it('at half the tempo, and slowing down as it goes', () => {
    const judgement = judge(takeOf(SCALE, { beatSec: 1.1 }), referenceOf(SCALE), TOLERANCES);
    expect(judgement.findings).toEqual([]);
    const slower = [...SCALE, ...SCALE.map((stroke) => ({ ...stroke, onset: stroke.onset + 17 }))];
    const ritardando = slower.map((stroke) => ({ ...stroke, lateSec: 0.004 * stroke.onset ** 2 }));
    const slowing = judge(takeOf(ritardando), referenceOf(slower), TOLERANCES);
    expect(slowing.findings).toEqual([]);
    expect(slowing.tempoChange!).toBeLessThan(0.85);
  });

  it('any take compared with itself, also on another harp', () => {
    const names = Object.keys(TUNES) as (keyof typeof TUNES)[];
    fc.assert(
      fc.property(
        fc.constantFrom(...names),
        fc.constantFrom(...HARP_KEYS),
        fc.nat(1000),
        (name, key, seed) => {
          const rng = randomOf(seed);
          const strokes = strokesOf(TUNES[name]).map((stroke) => ({
            ...stroke,
            lateSec: 0.08 * (rng.next() - 0.5),
            changes: {
              cents: stroke.tab.bend > 0 ? 140 * (rng.next() - 0.5) : 0,
              harmonicityDb: 25 * rng.next(),
              leak: rng.chance(0.3) ? { hole: 5, levelDb: -30 * rng.next() } : null,
            },
          }));
          const take = takeOf(strokes);
          expect(judge(take, referenceFromTake('same', take), TOLERANCES).findings).toEqual([]);
          const other = takeOf(strokes, { key });
          const judgement = judge(other, referenceFromTake('same', take), TOLERANCES);
          expect(judgement.findings).toEqual([]);
          expect(judgement.notes.every(({ right }) => right)).toBe(true);
          const score = scoreOf(judgement, referenceFromTake('same', take), TOLERANCES);
          expect(score.score).toBe(100);
        },
      ),
      { numRuns: 60 },
    );
  });

  it('an octave lower on the same harp, which is reported once', () => {
    const high = strokesOf('7 -8 8 -9 9 -10 10 8 7 -8');
    const low = strokesOf('4 -4 5 -5 6 -6 7 5 4 -4');
    const judgement = judge(takeOf(low), referenceOf(high), TOLERANCES);
    expect(judgement.match.shift).toBe(-12);
    expect(judgement.findings).toEqual([]);
    expect(judgement.remarks[0]).toContain('an octave below the reference throughout');
  });

  it('a breath before a new phrase, which shifts the rest; a stop within a phrase is late', () => {
    const pause = (from: number): Stroke[] =>
      SCALE.map((stroke, i) => (i >= from ? { ...stroke, lateSec: 0.4 } : stroke));
    const reference = referenceOf(SCALE);
    const phrased = {
      ...reference,
      notes: reference.notes.map((note, i) => ({ ...note, breathBefore: i % 8 === 0 })),
    };
    expect(judge(takeOf(pause(8)), phrased, TOLERANCES).findings).toEqual([]);
    const [late, ...more] = judge(takeOf(pause(6)), phrased, TOLERANCES).findings;
    expect(late).toMatchObject({ kind: 'late', noteId: 'n7' });
    expect(late.value).toBeCloseTo(0.4, 2);
    expect(more).toEqual([]);
  });
});

describe('faults that a teacher would name', () => {
  it('a wrong note: what was played instead of what, and where', () => {
    expect(findingsOf(changed(5, { tab: tab('7') }))).toEqual([
      {
        kind: 'wrong-note',
        timeSec: 3.5,
        noteId: 'n6',
        referenceIndex: 5,
        message: 'in bar 2 you played 7 (C6) instead of -6 (A5), 3 semitones above',
        value: 3,
      },
    ]);
  });

  it("names notes in the key of the student's harp", () => {
    const strokes = changed(5, { tab: tab('7') });
    const [finding] = judge(
      takeOf(strokes, { key: 'E' }),
      referenceFromTake('same', takeOf(SCALE, { key: 'E' })),
      TOLERANCES,
    ).findings;
    expect(finding.message).toContain('you played 7 (E6) instead of -6 (C#6)');
  });

  it('an octave off', () => {
    expect(findingsOf(changed(2, { tab: tab('8') }))).toMatchObject([
      { kind: 'octave', noteId: 'n3', value: 12 },
    ]);
  });

  it('a missing note, at the time when it should have come', () => {
    expect(findingsOf(SCALE.filter((_, i) => i !== 6))).toEqual([
      {
        kind: 'missed',
        timeSec: 4,
        noteId: null,
        referenceIndex: 6,
        message: '-7 (B5) in bar 2 is missing',
        value: null,
      },
    ]);
  });

  it('an extra note', () => {
    const extra = [...SCALE, { tab: tab('9'), onset: 2.5, length: 0.5 }].sort((a, b) => a.onset - b.onset);
    expect(findingsOf(extra)).toMatchObject([{ kind: 'added', noteId: 'n4', referenceIndex: null }]);
  });

  it('a restart, once, at its first repeated note', () => {
    const again = [
      ...SCALE.slice(0, 7),
      ...SCALE.slice(3).map((stroke) => ({ ...stroke, onset: stroke.onset + 5 })),
    ];
    expect(findingsOf(again)).toMatchObject([
      { kind: 'restart', noteId: 'n8', referenceIndex: 3, value: 4, timeSec: 5 },
    ]);
  });

  it('a missing note among four of the same pitch: the one whose time is empty', () => {
    const tune = strokesOf('6 6 6 6 5 5 5 5 4 4 4 4');
    for (const left of [1, 2, 5, 6, 9, 10]) {
      const played = tune.filter((_, i) => i !== left);
      expect(findingsOf(played, tune)).toMatchObject([{ kind: 'missed', referenceIndex: left }]);
    }
  });

  it("late and early notes, relative to the student's own time", () => {
    expect(findingsOf(changed(9, { lateSec: 0.2 }))).toMatchObject([{ kind: 'late', noteId: 'n10' }]);
    const [early] = findingsOf(changed(9, { lateSec: -0.15 }));
    expect(early.kind).toBe('early');
    expect(early.value).toBeCloseTo(-0.15, 2);
  });

  it('uneven playing, but not note by note', () => {
    const rng = randomOf(4);
    const tune = strokesOf(TUNES['ode-to-joy']);
    const uneven = tune.map((stroke) => ({ ...stroke, lateSec: 0.06 * rng.normal() }));
    const judgement = judge(takeOf(uneven), referenceOf(tune), TOLERANCES);
    expect(judgement.findings.length).toBeLessThanOrEqual(1);
    expect(judgement.unevenSec!).toBeGreaterThan(0.03);
  });

  it('3 blow for 2 draw: reported, and wrong only when strict', () => {
    const tune = strokesOf('-1 -2 -3 -2 -3 4 -3 -2');
    const played = tune.map((stroke, i) => (i === 3 ? { ...stroke, tab: tab('3') } : stroke));
    const said = findingsOf(played, tune);
    expect(said).toMatchObject([{ kind: 'same-pitch-other-hole', noteId: 'n4' }]);
    expect(said[0].message).toContain('3 for -2');
    const judgement = judge(takeOf(played), referenceOf(tune), TOLERANCES);
    expect(scoreOf(judgement, referenceOf(tune), TOLERANCES).score).toBe(100);
    const strict = { ...TOLERANCES, strict: true };
    expect(
      scoreOf(judge(takeOf(played), referenceOf(tune), strict), referenceOf(tune), strict).score,
    ).toBeLessThan(100);
  });

  it('a whole-tone bend that goes down only 140 cents: short by 60', () => {
    const tune = strokesOf("-3 -3'' -2 -3'' -4 4");
    const played = tune.map((stroke, i) => (i === 1 ? { ...stroke, changes: { cents: 60 } } : stroke));
    const [finding] = findingsOf(played, tune);
    expect(finding.kind).toBe('bend-short');
    expect(finding.message).toContain('short by 60: it goes down 140 of 200 cents');
    expect(finding.value).toBeCloseTo(60, 6);
  });

  it('the same bend read as the nearer one above: still short by 60', () => {
    const tune = strokesOf("-3 -3'' -2 -3'' -4 4");
    const played = tune.map((stroke, i) =>
      i === 1 ? { ...stroke, tab: tab("-3'"), changes: { cents: -40 } } : stroke,
    );
    expect(findingsOf(played, tune)).toMatchObject([{ kind: 'bend-short', value: 60 }]);
  });

  it('bends that are too deep, but not within the tolerance', () => {
    const tune = strokesOf("-3 -3'' -2 -3'' -4 4");
    const at = (cents: number) =>
      findingsOf(
        tune.map((stroke, i) => (i === 1 ? { ...stroke, changes: { cents } } : stroke)),
        tune,
      );
    expect(at(-40)).toMatchObject([{ kind: 'bend-sharp', value: -40 }]);
    expect(at(-40)[0].message).toContain('40 cents too deep');
    expect(at(24)).toEqual([]);
  });

  it('a second reed that leaked in, but not a chord or a barely audible reed', () => {
    const withLeak = (leak: NonNullable<Take['notes'][number]['leak']>) =>
      findingsOf(changed(3, { changes: { leak } }));
    expect(withLeak({ hole: 4, levelDb: -14.2, share: 1, kind: 'leak' })).toMatchObject([
      { kind: 'second-reed', noteId: 'n4', value: -14.2 },
    ]);
    expect(withLeak({ hole: 4, levelDb: -3, share: 1, kind: 'chord' })).toEqual([]);
    expect(withLeak({ hole: 4, levelDb: -24, share: 1, kind: 'leak' })).toEqual([]);
  });

  it('a breathy note among clear ones, but not in a noisy recording', () => {
    expect(findingsOf(changed(3, { changes: { harmonicityDb: 3 } }))).toMatchObject([
      { kind: 'breath-noise', noteId: 'n4' },
    ]);
    expect(findingsOf(SCALE.map((stroke) => ({ ...stroke, changes: { harmonicityDb: 4 } })))).toEqual([]);
  });
});

describe("the harp's own tuning", () => {
  /** A just harp (7-limit) at 443 Hz, each reed played in turn and perfectly: cents are 0 against that harp. */
  const just = (): Take => {
    const spec = { key: 'C', tuning: 'richter', temperament: 'just-7-limit', a4Hz: 443 };
    const strokes = naturalReeds(spec).map(({ hole, breath, bend, over }, i) => ({
      tab: { hole, breath, bend, over },
      onset: i,
      length: 1,
    }));
    const take = takeOf(strokes);
    const reeds = naturalReeds(spec);
    return {
      ...take,
      harp: { ...take.harp, temperament: 'just-7-limit', a4Hz: 443 },
      notes: take.notes.map((note, i) => ({ ...note, f0Hz: reeds[i].f0Hz })),
    };
  };

  it('compared with equal temperament at 440 Hz, notes read from -17.5 to +17.6 cents (1200 log2 of the ratios) [calc]', () => {
    const cents = againstEqual(just()).notes.map((note) => note.cents);
    expect(Math.min(...cents)).toBeCloseTo(-17.45, 1);
    expect(Math.max(...cents)).toBeCloseTo(17.63, 1);
    expect(Math.max(...just().notes.map((note) => Math.abs(note.cents)))).toBe(0);
  });
});

describe('the summary', () => {
  const flawed = (): Stroke[] =>
    SCALE.map((stroke, i) => (i === 3 || i === 4 || i === 11 ? { ...stroke, tab: tab('2') } : stroke));

  it('does not call notes clean if their second reed is only excused by the reference', () => {
    const leaky = takeOf(
      SCALE.map((stroke, i) =>
        i === 3
          ? { ...stroke, changes: { leak: { hole: 4, levelDb: -12, share: 1, kind: 'leak' } } }
          : stroke,
      ),
    );
    const reference = referenceFromTake('same', leaky);
    const well = wentWell(judge(leaky, reference, TOLERANCES), reference, TOLERANCES);
    expect(well).toContain('no second reed except in one note that has one in the reference, too');
    expect(well.join()).not.toContain('clean single notes');
  });

  it('names what to work on first and what went well, each with a number', () => {
    const judgement = judge(takeOf(flawed()), referenceOf(SCALE), TOLERANCES);
    expect(adviceOf(judgement, referenceOf(SCALE), TOLERANCES)[0].message).toMatch(/3 wrong notes/);
    expect(wentWell(judgement, referenceOf(SCALE), TOLERANCES).join()).toMatch(
      /clean single notes: no second reed in 16 notes/,
    );
    const { score, parts } = scoreOf(judgement, referenceOf(SCALE), TOLERANCES);
    // 13 of 16 notes: 81.25; no bends: (60 × 81.25 + 20 × 100 + 10 × 100) / 90 [calc]
    expect(parts[0].score).toBeCloseTo(81.25, 6);
    expect(parts[2].score).toBeNull();
    expect(score).toBeCloseTo(87.5, 6);
  });

  it('says how many bends are too short or too noisy to judge', () => {
    const tune = strokesOf("4 -4 -4' -4 -3 -3' -3 4");
    const played = tune.map((stroke, i) => (i === 2 ? { ...stroke, changes: { intonation: null } } : stroke));
    const because = (strokes: readonly Stroke[]): string =>
      scoreOf(judge(takeOf(strokes), referenceOf(tune), TOLERANCES), referenceOf(tune), TOLERANCES).parts[2]
        .because;
    expect(because(tune)).toBe('2 of 2 within 25 cents');
    expect(because(played)).toBe('1 of 1 within 25 cents; one bend too short or too noisy to judge');
  });
});

describe('what the recording can show', () => {
  const tune = strokesOf('4 -4 -4 5 -5 -5 6 6 5 -4 4 4 -4 5 5 4');
  const heldOver = (places: readonly number[]): Stroke[] =>
    tune.flatMap((stroke, i): Stroke[] =>
      places.includes(i) ? [] : [places.includes(i + 1) ? { ...stroke, length: 2 } : stroke],
    );

  it('one of six repeats that is held through is reported', () => {
    const sixMore = strokesOf('4 4 -4 -4 5 5 4 4 -4 -4 5 5 4 4 -4 -4 5 5 4 4 -4 -4 5 5');
    const strokes = sixMore.flatMap((stroke, i): Stroke[] =>
      i === 7 ? [] : [i === 6 ? { ...stroke, length: 2 } : stroke],
    );
    const { findings } = judge(takeOf(strokes), referenceOf(sixMore), TOLERANCES);
    expect(findings.map(({ kind }) => kind)).toEqual(['missed']);
    expect(findings[0].message).toContain('held through');
  });

  it('if most repeats are missing the recording hides them: a remark, not a fault', () => {
    const { findings, remarks } = judge(takeOf(heldOver([2, 5, 7])), referenceOf(tune), TOLERANCES);
    expect(findings).toEqual([]);
    expect(remarks.join()).toContain("3 repeated notes can't be heard apart");
  });

  it('a note of 50 ms before another is the start of that one, unless it is certainly a note of its own', () => {
    const kindsAt = (confidence: number): string[] => {
      const strokes = [...tune];
      const tab = { hole: 6, breath: 'draw' as const, bend: 0, over: false };
      strokes.splice(4, 0, { tab, onset: 3.9, length: 0.1, changes: { confidence } });
      return judge(takeOf(strokes), referenceOf(tune), TOLERANCES).findings.map(({ kind }) => kind);
    };
    expect(kindsAt(0.85)).toEqual([]);
    expect(kindsAt(0.96)).toEqual(['added']);
  });

  it('an uncertain note may count for the student, never against', () => {
    const unsure = { confidence: 0.3 };
    const said = (strokes: readonly Stroke[]) => judge(takeOf(strokes), referenceOf(tune), TOLERANCES);
    const heard = said(
      tune.map((stroke, i) => (i === 3 ? { ...stroke, lateSec: 0.2, changes: unsure } : stroke)),
    );
    expect(heard.findings).toEqual([]);
    expect(heard.remarks.join()).toContain(
      'one note can hardly be heard in this recording and counts as played: bar 1',
    );
    const extra = [...tune];
    const tab = { hole: 8, breath: 'blow' as const, bend: 0, over: false };
    extra.splice(4, 0, { tab, onset: 3.5, length: 0.5, changes: unsure });
    expect(said(extra).findings).toEqual([]);
  });

  it('a note that seems missing counts as played if a sound of its pitch was left out', () => {
    const take = takeOf(tune.filter((_, i) => i !== 3));
    const e5 = { onsetSec: 2.5, offsetSec: 2.9, f0Hz: 440 * 2 ** (7 / 12), why: 'doubtful' as const };
    const said = (leftOut: (typeof e5)[]) =>
      judge({ ...take, leftOut }, referenceOf(tune), TOLERANCES).findings.map(({ kind }) => kind);
    expect(said([])).toEqual(['missed']);
    expect(said([e5])).toEqual([]);
    // Another pitch, and another time.
    expect(said([{ ...e5, f0Hz: 440 }])).toEqual(['missed']);
    expect(said([{ ...e5, onsetSec: 5, offsetSec: 5.3 }])).toEqual(['missed']);
  });

  it('a wrong note that hides the next one of the same pitch is still a wrong note', () => {
    const melody = strokesOf('4 -4 5 -5 6 -6 6 5 -4 4');
    const strokes = melody.flatMap((stroke, i): Stroke[] =>
      i === 5 ? [] : [i === 4 ? { ...stroke, tab: melody[5].tab, length: 2 } : stroke],
    );
    const { findings } = judge(takeOf(strokes), referenceOf(melody), TOLERANCES);
    expect(findings[0].message).toBe('in bar 2 you played -6 (A5) instead of 6 (G5), 2 semitones above');
    expect(findings.map(({ kind }) => kind)).not.toContain('early');
  });

  it('going back is a restart even if the recording has lost one of the abandoned notes', () => {
    const again = SCALE.slice(4).map((stroke) => ({ ...stroke, onset: stroke.onset + 5 }));
    const played = [...SCALE.slice(0, 4), SCALE[4], SCALE[6], ...again];
    expect(findingsOf(played).map(({ kind, referenceIndex }) => [kind, referenceIndex])).toEqual([
      ['restart', 4],
    ]);
  });

  it('the start of a note is not an extra note, whatever its hole, and does not hide a missing one', () => {
    const wanted = strokesOf('4 5 -5 6 6 -6 6 -5 5 4');
    const played = wanted.filter((_, i) => i !== 3);
    const take = takeOf(played);
    const [before] = take.notes.filter(({ id }) => id === 'n4');
    const blip = {
      ...before,
      id: 'blip',
      onsetSec: before.onsetSec - 0.03,
      offsetSec: before.onsetSec,
      confidence: 0.3,
    };
    const notes = [...take.notes.slice(0, 3), blip, ...take.notes.slice(3)];
    expect(judge({ ...take, notes }, referenceOf(wanted), TOLERANCES).findings).toMatchObject([
      { kind: 'missed' },
    ]);
  });

  it('going back in a tune that repeats itself is a restart, not many extra notes', () => {
    const melody = strokesOf('5 -4 4 -4 5 5 5 -4 -4 -4 5 6 6 5 -4 4 -4 5 5 5 5 -4 -4 5 -4 4');
    const strokes = [
      ...melody.slice(0, 16),
      ...melody.slice(13).map((s) => ({ ...s, onset: s.onset + 3.6 })),
    ];
    const { findings } = judge(takeOf(strokes), referenceOf(melody), TOLERANCES);
    expect(findings.map(({ kind }) => kind)).toEqual(['restart']);
  });

  it('an overblow 40 cents flat is short', () => {
    const blues = strokesOf('4 -4 5 6o 6 5 -4 4');
    const strokes = blues.map((stroke, i) => (i === 3 ? { ...stroke, changes: { cents: -40 } } : stroke));
    const { findings } = judge(takeOf(strokes), referenceOf(blues), TOLERANCES);
    expect(findings).toMatchObject([{ kind: 'bend-short', value: -40 }]);
    expect(findings[0].message).toBe('the overblow 6o in bar 1 is flat by 40 cents');
  });

  it('a note with another reed under it is not called breathy as well', () => {
    const leak = { hole: 3, levelDb: -8, share: 1, kind: 'leak' as const };
    const strokes = tune.map((stroke, i) =>
      i === 3 ? { ...stroke, changes: { leak, harmonicityDb: 2 } } : stroke,
    );
    const { findings } = judge(takeOf(strokes), referenceOf(tune), TOLERANCES);
    expect(findings.map(({ kind }) => kind)).toEqual(['second-reed']);
  });

  it('a phrase that fades is reported, without a verdict', () => {
    const strokes = tune.map((stroke, i) => ({ ...stroke, changes: { levelDb: -14 - i } }));
    const take = { ...takeOf(strokes), phrases: [{ firstNote: 0, lastNote: tune.length - 1 }] };
    const judged = judge(take, referenceOf(tune), TOLERANCES);
    expect(judged.findings).toEqual([]);
    expect(judged.remarks.join()).toContain('phrase 1 fades by 15 dB');
  });
});
