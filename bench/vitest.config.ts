import { defineConfig } from 'vitest/config';

// Benchmarks run one after the other, each with the machine to itself.
export default defineConfig({
  test: { include: ['bench/run-all.ts'], testTimeout: 1_800_000, pool: 'forks', maxWorkers: 1, fileParallelism: false, execArgv: ['--expose-gc'] },
});
