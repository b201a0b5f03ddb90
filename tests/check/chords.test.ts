import { describe, expect, it } from 'vitest';
import { type Reference, referenceFromMelody, referenceFromTake } from '../../src/check/align/reference.ts';
import { TOLERANCES } from '../../src/check/finding.ts';
import { judge } from '../../src/check/judging/judge.ts';
import { readAbc } from '../../src/music/reading/abc/abc.ts';
import { parseTabToken } from '../../src/tab/text.ts';
import type { Take } from '../../src/take/schema.ts';
import { type Stroke, takeOf } from './student.ts';

const strokes = (tab: string): Stroke[] =>
  tab.split(' ').map((token, i) => ({ tab: parseTabToken(token)!, onset: i, length: 1 }));
const take = (tab: string, key = 'C'): Take => takeOf(strokes(tab), { key });
const said = (student: Take, reference: Reference): string[] =>
  judge(student, reference, TOLERANCES).findings.map(({ kind, message }) => `${kind}: ${message}`);
const TUNE = '4+5 -4+5 4 -4 1+4 2+3+4 5 4+5';

describe('several holes in a check', () => {
  it('accepts a wanted chord, on the same harp and on another', () => {
    expect(said(take(TUNE), referenceFromTake('tune', take(TUNE)))).toEqual([]);
    const judgement = judge(take(TUNE, 'A'), referenceFromTake('tune', take(TUNE)), TOLERANCES);
    expect(judgement.findings).toEqual([]);
    expect(judgement.match.shift).toBe(-3);
    expect(judgement.notes.every(({ right }) => right)).toBe(true);
  });

  it('names the missing hole of a chord, and the extra one', () => {
    const reference = referenceFromTake('tune', take(TUNE));
    expect(said(take(TUNE.replace('-4+5', '-4')), reference)).toEqual([
      'missed: hole 5 of -4+5 in line 1, note 2 is missing',
    ]);
    expect(said(take(TUNE.replace('2+3+4', '2+4')), reference)).toEqual([
      'missed: hole 3 of 2+3+4 in line 1, note 6 is missing',
    ]);
    expect(said(take(TUNE.replace('4 -4 1+4', '4 -4+5 1+4')), reference)).toEqual([
      'second-reed: hole 5 sounds as loud as -4 (D5) in line 1, note 4, where it should be silent',
    ]);
    // The melody is right where its own hole sounds, and a single note with another beside it is not clean.
    const { notes } = judge(take(TUNE.replace('4 -4 1+4', '4 -4+5 1+4')), reference, TOLERANCES);
    expect(notes.every(({ right }) => right)).toBe(true);
  });

  it('says when a shake is played plain or held, and when a plain note is shaken', () => {
    const shaken = TUNE.replace('4+5 -4+5', '4w5 -4+5');
    const reference = referenceFromTake('tune', take(shaken));
    expect(said(take(shaken), reference)).toEqual([]);
    expect(said(take(TUNE.replace('4+5 -4+5', '4 -4+5')), reference)).toEqual([
      'missed: the shake 4w5 in line 1, note 1 is played as a plain 4',
    ]);
    expect(said(take(TUNE), reference)).toEqual([
      'missed: the shake 4w5 in line 1, note 1 is held as 4+5, both notes at once',
    ]);
    const plain = take(TUNE.replace('4 -4 1+4', '4 -4w5 1+4'));
    expect(said(plain, referenceFromTake('tune', take(TUNE)))).toEqual([
      'second-reed: in line 1, note 4 you shake -4w5 where a plain -4 (D5) is wanted',
    ]);
    // What is not sure is no fault.
    const unsure = { ...plain, notes: plain.notes.map((note) => ({ ...note, confidence: 0.5 })) };
    expect(said(unsure, referenceFromTake('tune', take(TUNE)))).toEqual([]);
  });

  it('does not call an overtone of a wanted note a second hole', () => {
    const overtone = take(TUNE.replace('4 -4 1+4', '4 -4+8 1+4'));
    const octave = take(TUNE.replace('-4 1+4 2+3+4 5', '-4 1+4 2+3+4 5+8'));
    expect(said(octave, referenceFromTake('tune', take(TUNE)))).toEqual([]);
    expect(said(overtone, referenceFromTake('tune', take(TUNE)))).toEqual([]);
  });

  it('calls a chord that shares no hole with what is wanted a wrong note', () => {
    expect(said(take(TUNE.replace('4 -4 1+4', '4 5+6 1+4')), referenceFromTake('tune', take(TUNE)))).toEqual([
      expect.stringMatching(/^wrong-note: in line 1, note 4 you played 5\+6 \(E5\+G5\) instead of -4 \(D5\)/),
    ]);
  });

  it('expects the chords of a score if the harp has them', () => {
    const melody = readAbc(
      new TextEncoder().encode('X:1\nM:4/4\nL:1/4\nK:C\n[ce] [df] c d | [Cc] [EGc] e [ce]|\n'),
      'tune.abc',
    );
    expect(melody.notes.map(({ chord }) => chord ?? null)).toEqual([
      [72, 76],
      [74, 77],
      null,
      null,
      [60, 72],
      [64, 67, 72],
      null,
      [72, 76],
    ]);
    const reference = referenceFromMelody('tune.abc', melody, null);
    expect(said(take(TUNE), reference)).toEqual([]);
    expect(said(take(TUNE.replace('-4+5', '-5')), reference)).toEqual([
      'missed: hole 4 of -4+5 in bar 1 is missing',
    ]);
  });

  it('expects only the part of a chord that the harp has in one breath, and says so', () => {
    const melody = readAbc(new TextEncoder().encode('X:1\nL:1/4\nK:C\nc d [ce] [cdf] e f|\n'), 'tune.abc');
    const { findings, remarks } = judge(
      take('4 -4 4+5 -4+5 5 -5'),
      referenceFromMelody('tune.abc', melody, null),
      TOLERANCES,
    );
    expect(findings).toEqual([]);
    expect(remarks.join('; ')).toContain('one chord of the reference can');
  });
});
