import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.{ts,tsx}'],
    env: { FORCE_COLOR: '0', NO_COLOR: '1' },
    testTimeout: 30_000,
    coverage: { provider: 'v8', include: ['src/**'] },
  },
});
