import { execFileSync } from 'node:child_process';
import { readdir, readFile, writeFile } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { it } from 'vitest';
import type { BenchResult } from './bench.js';

const HERE = path.dirname(fileURLToPath(import.meta.url));

function figure(value: number): string {
  return value >= 100 ? value.toFixed(0) : value >= 10 ? value.toFixed(1) : value >= 1 ? value.toFixed(2) : value.toPrecision(2);
}

function row({ name, ours, peer, ratio, budget, met }: BenchResult): string {
  const unit = name.includes('[MiB]') ? 'MiB' : ours.unit;
  const spread = (one: { median: number; min: number; max: number }): string => (one.min === one.max ? `${figure(one.median)} ${unit}` : `${figure(one.median)} ${unit} (${figure(one.min)} to ${figure(one.max)})`);
  return `| ${name.replace(' [MiB]', '')} | ${spread(ours)} | ${peer === null ? '' : `${peer.name}: ${spread(peer)}`} | ${ratio === null ? '' : `${figure(ratio)} x`} | ${budget} | ${met ? 'yes' : '**no**'} |`;
}

function commit(): string {
  try {
    return execFileSync('git', ['rev-parse', '--short', 'HEAD'], { cwd: HERE }).toString().trim();
  } catch {
    return 'unknown';
  }
}

// One benchmark by a part of its file's name: npm run bench -- -t is not needed, TALLOW_BENCH_ONLY=nmea is.
it('every benchmark with its peer', async () => {
  const only = process.env['TALLOW_BENCH_ONLY'] ?? '';
  const files = (await readdir(HERE)).filter((name) => name.endsWith('.bench.ts') && name.includes(only)).sort();
  const results: BenchResult[] = [];
  for (const file of files) {
    console.log(`${file} ...`);
    const { run } = (await import(path.join(HERE, file))) as { run(): Promise<BenchResult[]> };
    for (const result of await run()) {
      results.push(result);
      console.log(row(result));
    }
  }
  const cpu = os.cpus()[0]?.model ?? 'unknown';
  const text = [
    '# Benchmarks',
    '',
    '`npm run bench` measures these again and rewrites this page. Ours and the peer take turns in one run; the ratio is what counts.',
    '',
    `Machine: ${cpu}, ${os.cpus().length} cores, ${Math.round(os.totalmem() / 2 ** 30)} GiB, ${os.type()} ${os.release()}; Node.js ${process.version}; commit ${commit()}; ${new Date().toISOString().slice(0, 10)}.`,
    '',
    '| what | ours: median (range) | peer | ratio | budget | met |',
    '|---|---|---|---|---|---|',
    ...results.map(row),
    '',
  ].join('\n');
  if (only === '') await writeFile(path.join(HERE, 'RESULTS.md'), text);
  else console.log(await readFile(path.join(HERE, 'RESULTS.md'), 'utf8').catch(() => ''));
});
