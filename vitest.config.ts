import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    env: { FORCE_COLOR: '0', NO_COLOR: '1' },
    // Long, for machines that are slow or busy.
    testTimeout: 90_000,
    // The default leaves one core idle, which on two is half of them.
    maxWorkers: '100%',
    // Test files share one loaded copy of the modules, which saves a third of the time: what they change (spies, environment,
    // files) they put back.
    isolate: false,
    coverage: { provider: 'v8', include: ['src/**'] },
  },
});
