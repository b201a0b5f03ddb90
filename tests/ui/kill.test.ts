import { describe, expect, it } from 'vitest';
import { killMany } from './kill.ts';
import { hasTmux, NEEDS_TMUX } from './tmux.ts';

describe.skipIf(!hasTmux)(`killed at random moments${NEEDS_TMUX}`, () => {
  // Two hundred moments: npx tsx tests/ui/kill.ts 200
  it('loses no edit older than a second, and leaves a take that can still be corrected', async () => {
    const results = await killMany(6, 3000);
    expect(results.reduce((sum, { lost }) => sum + lost, 0)).toBe(0);
    expect(results.reduce((sum, { kept }) => sum + kept, 0)).toBeGreaterThan(0);
  }, 120_000);
});
