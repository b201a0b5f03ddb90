import { describe, expect, it } from 'vitest';
import { measureHonesty } from './honesty.ts';

const span = (onsetSec: number, offsetSec: number) => ({ onsetSec, offsetSec });

describe('what is told as perhaps missing or played twice', () => {
  const played = [
    { ...span(0, 1), sure: true },
    { ...span(1, 2), sure: false },
    { ...span(2, 3), sure: true },
  ];
  const told = (onsetSec: number, offsetSec: number) => ({
    ...span(onsetSec, offsetSec),
    f0Hz: 440,
    why: 'doubtful' as const,
  });

  it('is right where a note is missed, wrong where none is, and does not count where nobody can tell', () => {
    const honesty = measureHonesty(
      played,
      [true, true, false],
      [],
      [],
      [told(0.5, 0.6), told(1.5, 1.6), told(2.5, 2.6)],
    );
    expect(honesty).toMatchObject({ told: 2, toldRight: 1, missed: 1, silent: 0 });
  });
});
