import { describe, expect, it } from 'vitest';
import { remarksOn } from '../../../src/cli/export/remarks.ts';
import { buildScore } from '../../../src/export/score.ts';
import { playTune } from '../../export/tunes.ts';

describe('remarks before a take is written', () => {
  const score = buildScore(playTune('amazing-grace').take, 'x');
  const many = { ...score, notes: Array.from({ length: 5001 }, () => score.notes[0]) };

  it('says that a staff takes a while for a very long take, and in which formats', () => {
    expect(remarksOn(many, ['tab', 'pdf']).join('\n')).toContain('5,001 notes on a staff take a while (pdf)');
    expect(remarksOn(many, ['tab', 'midi'])).toEqual(remarksOn(score, ['tab', 'midi']));
    expect(remarksOn(score, ['pdf']).join('\n')).not.toContain('a while');
  });

  it('says if a take was played at a different tempo from the one given', () => {
    const at = (told: number) => {
      const beats = {
        ...score.beats,
        metre: { count: 4, unit: 4 as const },
        tempoBpm: 134.2,
        confidence: 0.9,
      };
      return remarksOn({ ...score, beats: { ...beats, given: { tempoBpm: told } } }, ['tab']);
    };
    expect(at(120)).toEqual([
      'played at 134 quarter notes a minute on average, not 120; the tempo written is the one played',
    ]);
    expect(at(130)).toEqual([]);
  });
});
