import { defineConfig } from 'vitest/config';

/** Folders whose tests change nothing outside themselves: they share one loaded copy of the modules, which saves a third of the time. */
const PURE = [
  'analysis',
  'arrange',
  'audio',
  'check',
  'decode',
  'export',
  'harp',
  'holes',
  'measure',
  'music',
  'tab',
  'take',
];
const inFolders = (folders: readonly string[]) =>
  folders.map((folder) => `tests/${folder}/**/*.test.{ts,tsx}`);

export default defineConfig({
  test: {
    env: { FORCE_COLOR: '0', NO_COLOR: '1' },
    testTimeout: 30_000,
    // The default leaves one core idle, which on two is half of them.
    maxWorkers: '100%',
    coverage: { provider: 'v8', include: ['src/**'] },
    projects: [
      { extends: true, test: { name: 'pure', include: inFolders(PURE), isolate: false } },
      {
        extends: true,
        test: { name: 'edges', include: ['tests/**/*.test.{ts,tsx}'], exclude: inFolders(PURE) },
      },
    ],
  },
});
