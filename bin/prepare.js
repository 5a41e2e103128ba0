// What both commands need first: the packages of the lockfile, and a build that is newer than its sources.
import { spawnSync } from 'node:child_process';
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

/** Builds the program and the page where a source is newer than the build. */
export function ensureBuilt(force = false) {
  const stamp = path.join(ROOT, 'dist', '.built');
  const sources = [
    newestIn(path.join(ROOT, 'src')),
    ...['package-lock.json', 'tsconfig.base.json', 'tsconfig.node.json', 'vite.config.ts'].map((name) => statSync(path.join(ROOT, name)).mtimeMs),
  ];
  if (!force && existsSync(stamp) && statSync(stamp).mtimeMs > Math.max(...sources)) return;
  console.log('Building ...');
  runPackage('typescript/bin/tsc', ['-p', 'tsconfig.node.json']);
  runPackage('vite/bin/vite.js', ['build', '--logLevel', 'warn']);
  mkdirSync(path.dirname(stamp), { recursive: true });
  writeFileSync(stamp, new Date().toISOString());
}
