import { describe, expect, it } from 'vitest';
import { remarksOn } from '../../../src/cli/export/remarks.ts';
import { buildScore } from '../../../src/export/score.ts';
import { playTune } from '../../export/tunes.ts';

describe('what is said before a take is written', () => {
  const score = buildScore(playTune('amazing-grace').take, 'x');
  const many = { ...score, notes: Array.from({ length: 5001 }, () => score.notes[0]) };

  it('says of a very long take that a staff takes a while, and of what', () => {
    expect(remarksOn(many, ['tab', 'pdf']).join('\n')).toContain('5,001 notes on a staff take a while (pdf)');
    expect(remarksOn(many, ['tab', 'midi'])).toEqual(remarksOn(score, ['tab', 'midi']));
    expect(remarksOn(score, ['pdf']).join('\n')).not.toContain('a while');
  });
});
