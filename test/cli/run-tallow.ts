import { spawn, type SpawnOptions } from 'node:child_process';
import { existsSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

export const PROJECT = fileURLToPath(new URL('../..', import.meta.url));
/** Recorded data and published checks, where this checkout has them beside it. */
export const SHARED_DATA = path.resolve(PROJECT, '../shared/data');
export const HAS_SHARED_DATA = existsSync(SHARED_DATA);

export interface Run {
  readonly code: number | null;
  readonly signal: NodeJS.Signals | null;
  readonly out: string;
  readonly err: string;
  /** The object of --json. */
  json<T = Record<string, unknown>>(): T;
}

/** Runs the real command line of the build. */
export function tallow(args: readonly string[], options: SpawnOptions = {}): Promise<Run> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [path.join(PROJECT, 'bin/tallow.js'), ...args], { ...options, stdio: ['ignore', 'pipe', 'pipe'] });
    let out = '';
    let err = '';
    child.stdout!.on('data', (data: Buffer) => (out += data.toString()));
    child.stderr!.on('data', (data: Buffer) => (err += data.toString()));
    child.on('error', reject);
    child.on('close', (code, signal) => resolve({ code, signal, out, err, json: <T>() => JSON.parse(out) as T }));
  });
}

/** The last line of stderr: what a user is told when a verb cannot do its work. */
export function complaint(run: Run): string {
  return run.err.trim().split('\n').pop() ?? '';
}
