import { spawn } from 'node:child_process';
import { mkdtemp, open, rm, stat } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { makeProof } from '../src/survey/make-demo.js';
import { proveSurvey } from '../src/proving/index.js';
import { keep, spreadOf, type BenchResult } from './bench.js';

const TALLOW = fileURLToPath(new URL('../bin/tallow.js', import.meta.url));
/** Fewer than seven: each takes seconds, and the spread is shown. */
const REPEATS = 3;
/** 2026-05-01T06:00:00Z */
const FIRST_DAY_S = 1_777_615_200;

interface Timed {
  readonly seconds: number;
  readonly peakMiB: number;
}

/** Runs the command line as its user would; wall time and the largest memory the process had. */
function run(args: readonly string[]): Promise<Timed> {
  const began = performance.now();
  return new Promise((resolve, reject) => {
    const child = spawn('/usr/bin/time', ['-f', 'PEAK %M', process.execPath, TALLOW, ...args], { stdio: ['ignore', 'ignore', 'pipe'] });
    let err = '';
    child.stderr.on('data', (data: Buffer) => (err += data.toString()));
    child.on('error', reject);
    child.on('close', (code) => {
      const peak = /PEAK (\d+)/.exec(err);
      if ((code !== 0 && code !== 1) || peak === null) reject(new Error(err));
      else resolve({ seconds: (performance.now() - began) / 1000, peakMiB: Number(peak[1]) / 1024 });
    });
  });
}

function result(name: string, seconds: readonly number[], budget: string, met: boolean): BenchResult {
  return { name, ours: { ...spreadOf(seconds), unit: 's' }, peer: null, ratio: null, budget, met };
}

/** A day's logs to chart, gaps and report; and a 1 GB log taken in. */
export async function run300k(): Promise<BenchResult[]> {
  const top = await mkdtemp(path.join(os.tmpdir(), 'tallow-bench-'));
  try {
    const folder = path.join(top, 'day');
    const { desk } = await makeProof(folder, 1, 'day', {});
    const { logs } = await desk.summary();
    const pings = logs.reduce((sum, log) => sum + log.pings, 0);
    keep(pings);
    const timed: Timed[] = [];
    for (let i = 0; i < REPEATS + 1; i++) {
      await rm(path.join(folder, 'derived'), { recursive: true, force: true });
      await rm(path.join(folder, 'products'), { recursive: true, force: true });
      const one = await run(['build', folder]);
      if (i > 0) timed.push(one);
    }
    const peak = Math.max(...timed.map((one) => one.peakMiB));
    const seconds = timed.map((one) => one.seconds);
    return [
      result(`day to chart: ${pings} soundings, logs to chart, gaps and report`, seconds, 'under 10 s', spreadOf(seconds).median < 10),
      { name: 'day to chart: peak memory [MiB]', ours: { ...spreadOf(timed.map((one) => one.peakMiB)), unit: 's' }, peer: null, ratio: null, budget: 'under 600 MiB', met: peak < 600 },
    ];
  } finally {
    await rm(top, { recursive: true, force: true });
  }
}

/** Writes a log of at least so many bytes: the proving ground's day, run again on one day after the other. */
async function writeLargeLog(file: string, bytes: number): Promise<number> {
  const handle = await open(file, 'w');
  let written = 0;
  for (let day = 0; written < bytes; day++) {
    const parts: Uint8Array[] = [];
    proveSurvey(1, 'day', { startS: FIRST_DAY_S + day * 86_400 }).writeLogs(null, (_name, piece) => void parts.push(piece));
    for (const part of parts) {
      await handle.write(part);
      written += part.byteLength;
    }
  }
  await handle.close();
  return (await stat(file)).size;
}

export async function runLargeLog(): Promise<BenchResult[]> {
  const top = await mkdtemp(path.join(os.tmpdir(), 'tallow-bench-'));
  try {
    const file = path.join(top, 'large.nmea');
    const bytes = await writeLargeLog(file, 1e9);
    const folder = path.join(top, 'survey');
    await run(['new', folder]);
    const timed = await run(['take-in', folder, file]);
    return [
      result(`take-in: a log of ${(bytes / 1e9).toFixed(2)} GB, kept, hashed and read`, [timed.seconds], 'no budget of its own', true),
      { name: 'take-in: peak memory on that log [MiB]', ours: { ...spreadOf([timed.peakMiB]), unit: 's' }, peer: null, ratio: null, budget: 'under 300 MiB', met: timed.peakMiB < 300 },
    ];
  } finally {
    await rm(top, { recursive: true, force: true });
  }
}

export async function runThread(): Promise<BenchResult[]> {
  return [...(await run300k()), ...(await runLargeLog())];
}

export { runThread as run };
