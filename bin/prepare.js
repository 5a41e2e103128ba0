// What both commands need first: the packages of the lockfile, and a build that is newer than its sources.
import { spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, readdirSync, statSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

export const ROOT = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '..');

/** Stops with one line where this Node.js is too old. */
export function requireNode() {
  const major = Number(process.versions.node.split('.')[0]);
  if (major < 20) {
    console.error(`Tallow needs Node.js 20 or newer; this is ${process.version}. Install a newer Node.js and run the same command again.`);
    process.exit(2);
  }
}

/** Runs a program in the project's folder; stops with its exit code where it fails. */
export function run(command, args, options = {}) {
  const done = spawnSync(command, args, { cwd: ROOT, stdio: 'inherit', shell: process.platform === 'win32', ...options });
  if (done.status !== 0) process.exit(done.status ?? 1);
}

/** A program of an installed package, run with this Node.js. */
export function runPackage(packagePath, args, options = {}) {
  run(process.execPath, [path.join(ROOT, 'node_modules', packagePath), ...args], options);
}

function hashOf(file) {
  return createHash('sha256').update(readFileSync(file)).digest('hex');
}

/** Installs the packages of the lockfile where they are not installed yet, or the lockfile has changed since. */
export function ensureInstalled() {
  const stamp = path.join(ROOT, 'node_modules', '.tallow-lock-hash');
  const wanted = hashOf(path.join(ROOT, 'package-lock.json'));
  if (existsSync(stamp) && readFileSync(stamp, 'utf8') === wanted) return;
  console.log('Installing packages (once) ...');
  run('npm', ['ci', '--no-audit', '--no-fund', '--loglevel=error']);
  writeFileSync(stamp, wanted);
}

function newestIn(folder) {
  let newest = 0;
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const full = path.join(folder, entry.name);
    newest = Math.max(newest, entry.isDirectory() ? newestIn(full) : statSync(full).mtimeMs);
  }
  return newest;
}

const BUILT = path.join(ROOT, 'dist', '.built');

/** What builds the program and the page. */
export const BUILD = [
  { what: 'program', packagePath: 'typescript/bin/tsc', args: ['-p', 'tsconfig.node.json'] },
  { what: 'page', packagePath: 'vite/bin/vite.js', args: ['build', '--logLevel', 'warn'] },
];

/** Whether the build is newer than every source. */
export function isBuilt() {
  const sources = [
    newestIn(path.join(ROOT, 'src')),
    ...['package-lock.json', 'tsconfig.base.json', 'tsconfig.node.json', 'vite.config.ts'].map((name) => statSync(path.join(ROOT, name)).mtimeMs),
  ];
  return existsSync(BUILT) && statSync(BUILT).mtimeMs > Math.max(...sources);
}

export function markBuilt() {
  mkdirSync(path.dirname(BUILT), { recursive: true });
  writeFileSync(BUILT, new Date().toISOString());
}

/** Builds the program and the page where a source is newer than the build. */
export function ensureBuilt(force = false) {
  if (!force && isBuilt()) return;
  console.log('Building ...');
  for (const { packagePath, args } of BUILD) runPackage(packagePath, args);
  markBuilt();
}

/**
 * Runs programs of installed packages, two at once, each one's words when it ends; stops where one fails.
 *
 * @param {{ what: string, packagePath: string, args: string[] }[]} jobs
 */
export async function runTogether(jobs) {
  const waiting = [...jobs];
  const work = async () => {
    for (let job = waiting.shift(); job !== undefined; job = waiting.shift()) {
      const { what, packagePath, args } = job;
      const began = performance.now();
      const child = spawn(process.execPath, [path.join(ROOT, 'node_modules', packagePath), ...args], { cwd: ROOT, stdio: ['ignore', 'pipe', 'pipe'] });
      let said = '';
      for (const stream of [child.stdout, child.stderr]) stream.on('data', (data) => (said += data));
      const status = await new Promise((resolve, reject) => {
        child.on('error', reject);
        child.on('close', resolve);
      });
      process.stdout.write(`${what}: ${status === 0 ? 'done' : 'failed'} in ${((performance.now() - began) / 1000).toFixed(0)} s\n${said}`);
      if (status !== 0) process.exit(status ?? 1);
    }
  };
  await Promise.all([work(), work()]);
}
