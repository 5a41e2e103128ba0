import { defineConfig } from 'vitest/config';

/** Tests that measure how quick the page is: each has the machine to itself, after all others. */
const MEASURED = ['test/page/depths-million.test.ts', 'test/page/mosaic-pan.test.ts'];
const ALL = ['test/**/*.test.ts', 'test/**/*.test.tsx'];

export default defineConfig({
  test: {
    globalSetup: ['test/run-folder.ts'],
    // A test fails for what it finds, not for how busy the machine is: limits are far above what is needed.
    testTimeout: 180_000,
    hookTimeout: 900_000,
    expect: { poll: { timeout: 60_000 } },
    pool: 'forks',
    maxWorkers: 2,
    coverage: { provider: 'v8', include: ['src/**'], exclude: ['src/page/**'] },
    projects: [
      { extends: true, test: { name: 'tests', include: ALL, exclude: MEASURED, isolate: false } },
      { extends: true, test: { name: 'measured', include: MEASURED, maxWorkers: 1, sequence: { groupOrder: 1 } } },
    ],
  },
});
