// npm test: install, build, find or install a browser for the page tests, run lint, types and every test.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { BUILD, ROOT, ensureInstalled, isBuilt, markBuilt, requireNode, runTogether } from './prepare.js';

requireNode();
ensureInstalled();

const BROWSERS = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome', '/usr/bin/google-chrome-stable', '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome', '/Applications/Chromium.app/Contents/MacOS/Chromium'];

function findBrowser() {
  const named = process.env.TALLOW_CHROMIUM;
  return [...(named === undefined ? [] : [named]), ...BROWSERS].find((file) => existsSync(file));
}

/** Debian's Chromium, where this is Debian and we may install it. */
function installBrowser() {
  if (process.platform !== 'linux' || process.getuid?.() !== 0 || !existsSync('/usr/bin/apt-get')) return;
  console.log('Installing Debian\'s chromium for the page tests (once) ...');
  const quiet = { stdio: ['ignore', 'ignore', 'inherit'], env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' } };
  spawnSync('apt-get', ['update', '-qq'], quiet);
  spawnSync('apt-get', ['install', '-y', '-qq', '--no-install-recommends', 'chromium', 'fonts-dejavu-core'], quiet);
}

if (findBrowser() === undefined) installBrowser();
const browser = findBrowser();
if (browser === undefined) {
  if (process.env.TALLOW_REQUIRE_BROWSER === '1') {
    console.error('No Chromium or Chrome was found, and the page tests are required here; install one, or name it in TALLOW_CHROMIUM.');
    process.exit(1);
  }
  console.log('PAGE TESTS SKIPPED: no Chromium or Chrome was found; install one, or name it in TALLOW_CHROMIUM.');
}

const built = isBuilt();
await runTogether([
  ...(built ? [] : BUILD),
  { what: 'types of the tests', packagePath: 'typescript/bin/tsc', args: ['-p', 'tsconfig.test.json', '--noEmit'] },
  { what: 'lint', packagePath: 'eslint/bin/eslint.js', args: ['.', '--max-warnings', '0'] },
  { what: 'types of the page', packagePath: 'typescript/bin/tsc', args: ['-p', 'tsconfig.page.json', '--noEmit'] },
]);
if (!built) markBuilt();

const work = mkdtempSync(path.join(os.tmpdir(), 'tallow-test-'));
const results = path.join(work, 'results.json');
const done = spawnSync(
  process.execPath,
  [path.join(ROOT, 'node_modules/vitest/vitest.mjs'), 'run', '--reporter=default', '--reporter=json', `--outputFile.json=${results}`, ...process.argv.slice(2)],
  { cwd: ROOT, stdio: 'inherit', env: { ...process.env, TALLOW_TEST_PAGE: path.join(ROOT, 'dist/page'), ...(browser === undefined ? {} : { TALLOW_CHROMIUM: browser }) } },
);
if (existsSync(results)) {
  const { numPassedTests, numFailedTests, numPendingTests, testResults } = JSON.parse(readFileSync(results, 'utf8'));
  // A file that could not be loaded holds no failed test of its own: it counts as one.
  const brokenFiles = testResults.filter((file) => file.status === 'failed' && file.assertionResults.every((test) => test.status !== 'failed')).length;
  console.log(`${numPassedTests} passed, ${numFailedTests + brokenFiles} failed, ${numPendingTests} skipped`);
}
rmSync(work, { recursive: true, force: true });
process.exit(done.status ?? 1);
