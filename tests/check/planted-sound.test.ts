import { describe, expect, it } from 'vitest';
import { SITUATIONS, tallySound } from '../bench/measures/planted-sound.ts';

const ROUNDS = 3;

describe('mistakes planted in sound', () => {
  it('are found and named correctly from the recording alone, with no false findings', async () => {
    const [practised] = SITUATIONS;
    const { planted, found, falseKinds, notes, log } = await tallySound(practised, ROUNDS, 7);
    expect(planted).toBeGreaterThan(12);
    expect(found / planted, log.join('\n')).toBeGreaterThanOrEqual(0.95);
    const falseFindings = [...falseKinds.values()].reduce((sum, count) => sum + count, 0);
    expect(falseFindings / notes, log.join('\n')).toBeLessThanOrEqual(0.01);
  }, 60_000);
});
