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

const RESULTS = path.join(HERE, 'RESULTS.md');
const HEAD = ['| what | ours: median (range) | peer | ratio | budget | met | measured at |', '|---|---|---|---|---|---|---|'];

/** What a row measures and beside which peer. */
function nameOf(line: string): string {
  const [, what, , peer] = line.split('|');
  return `${what!.trim()} ${peer!.split(':')[0]!.trim()}`;
}

// One part alone, by a part of its file's name: TALLOW_BENCH_ONLY=nmea npm run bench. Rows that were not measured stay as they are.
it('every benchmark with its peer', async () => {
  const only = process.env['TALLOW_BENCH_ONLY'] ?? '';
  const files = (await readdir(HERE)).filter((name) => name.endsWith('.bench.ts') && name.includes(only)).sort();
  const at = `${commit()}, ${new Date().toISOString().slice(0, 10)}, load ${os.loadavg()[0]!.toFixed(1)}`;
  const measured = new Map<string, string>();
  for (const file of files) {
    console.log(`${file} ...`);
    const { run } = (await import(path.join(HERE, file))) as { run(): Promise<BenchResult[]> };
    for (const result of await run()) {
      const line = `${row(result)} ${at} |`;
      measured.set(nameOf(line), line);
      console.log(`\n${line}`);
    }
  }
  const was = (await readFile(RESULTS, 'utf8').catch(() => '')).split('\n');
  const before = only === '' ? [] : was.filter((line) => line.startsWith('| ') && line !== HEAD[0]);
  // What is said of rows by hand stays: all between the machine's line and the table.
  const said = was.slice(was.findIndex((line) => line.startsWith('Machine:')) + 1, was.indexOf(HEAD[0]!)).join('\n').trim();
  const kept = before.map((line) => measured.get(nameOf(line)) ?? line);
  const added = [...measured].filter(([name]) => !before.some((line) => nameOf(line) === name)).map(([, line]) => line);
  const cpu = os.cpus()[0]?.model ?? 'unknown';
  const text = [
    '# Benchmarks',
    '',
    '`npm run bench` measures these again and rewrites this page; `TALLOW_BENCH_ONLY=surface npm run bench` only the rows of one file. Ours and the peer take turns in one run; the ratio is what counts. The last column says at which commit, on which day and beside how much other work (load of the machine as the part began) a row was measured.',
    '',
    `Machine: ${cpu}, ${os.cpus().length} cores, ${Math.round(os.totalmem() / 2 ** 30)} GiB, ${os.type()} ${os.release()}; Node.js ${process.version}.`,
    '',
    ...(said === '' ? [] : [said, '']),
    ...HEAD,
    ...kept,
    ...added,
    '',
  ].join('\n');
  await writeFile(RESULTS, text);
});
