import { defineConfig } from 'vitest/config';

/** What these test is kept by the modules themselves: files that are being written, locks, threads. Each file loads them anew. */
const KEEPERS = ['tests/files/**/*.test.ts', 'tests/take/files/**/*.test.ts', 'tests/threads/**/*.test.ts'];

export default defineConfig({
  test: {
    env: { FORCE_COLOR: '0', NO_COLOR: '1' },
    // Long, for machines that are slow or busy.
    testTimeout: 90_000,
    // The default leaves one core idle, which on two is half of them.
    maxWorkers: '100%',
    coverage: { provider: 'v8', include: ['src/**'] },
    projects: [
      { extends: true, test: { name: 'keepers', include: KEEPERS } },
      {
        // The others share one loaded copy of the modules, which saves a third of the time: what they change (spies, environment,
        // files) they put back.
        extends: true,
        test: {
          name: 'others',
          include: ['tests/**/*.test.{ts,tsx}'],
          exclude: KEEPERS,
          isolate: false,
        },
      },
    ],
  },
});
