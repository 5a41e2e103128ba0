// npm run bench: every benchmark with its peer in the same run; the figures go to bench/RESULTS.md.
import { ensureBuilt, ensureInstalled, requireNode, ROOT } from './prepare.js';
import path from 'node:path';
import { spawnSync } from 'node:child_process';

requireNode();
ensureInstalled();
ensureBuilt();
// The benchmarks are TypeScript outside src/: vite-node's successor in vitest runs them as they are.
const done = spawnSync(process.execPath, ['--expose-gc', path.join(ROOT, 'node_modules/vitest/vitest.mjs'), 'run', '--config', 'bench/vitest.config.ts', ...process.argv.slice(2)], {
  cwd: ROOT,
  stdio: 'inherit',
  env: { ...process.env, TALLOW_BENCH: '1' },
});
process.exit(done.status ?? 1);
