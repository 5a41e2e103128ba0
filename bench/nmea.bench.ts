import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import GPS from 'gps';
import { parseNmeaSentence } from 'nmea-simple';
import { bytesSource } from '../src/base/byte-source.js';
import { readLog } from '../src/formats/log-reader.js';
import type { BenchResult } from './bench.js';
import { asRate, keep, measureInTurn } from './bench.js';

const RECORDED = fileURLToPath(new URL('../../shared/data/nmea/gulf-4h.log', import.meta.url));
const BYTES = 60e6;
const PEER_BYTES = 2e6;
const BUDGET_RATE = 100;
const BUDGET_RATIO = 20;

/** `$` + body + `*hh`. */
function sentence(body: string): string {
  let sum = 0;
  for (let i = 0; i < body.length; i++) sum ^= body.charCodeAt(i);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}\r\n`;
}

function clock(seconds: number): string {
  const s = Math.floor(seconds) % 86_400;
  return [Math.floor(s / 3600), Math.floor(s / 60) % 60, s % 60].map((v) => String(v).padStart(2, '0')).join('');
}

/** A survey log of one invented boat: GGA, RMC, VTG, GST, HDT, DPT, DBT and MTW at usual rates, all checksums right. */
function generatedLog(bytes: number): string {
  const parts: string[] = [];
  let length = 0;
  for (let t = 0; length < bytes; t++) {
    const hms = `${clock(36_000 + t)}.00`;
    const day = String(1 + Math.floor((36_000 + t) / 86_400)).padStart(2, '0');
    const lat = (12 + (t % 900) * 0.0004).toFixed(5).padStart(8, '0');
    const lon = (5 + (t % 1700) * 0.0003).toFixed(5).padStart(8, '0');
    const course = (90 + (t % 7)).toFixed(1);
    let block = sentence(`GNGGA,${hms},46${lat},N,030${lon},W,4,17,0.7,2.31,M,57.20,M,1.0,0001`);
    block += sentence(`GNRMC,${hms},A,46${lat},N,030${lon},W,2.92,${course},${day}0526,,,A`);
    block += sentence(`GNVTG,${course},T,,M,2.92,N,5.41,K,A`) + sentence(`GNGST,${hms},0.9,0.02,0.01,40.0,0.014,0.012,0.025`);
    for (let k = 0; k < 5; k++) {
      const depth = 8 + ((t * 5 + k) % 400) * 0.01;
      block += sentence(`SDDPT,${depth.toFixed(2)},0.20,100.0`) + sentence(`SDDBT,${(depth / 0.3048).toFixed(1)},f,${depth.toFixed(2)},M,${(depth / 1.8288).toFixed(1)},F`);
      block += sentence(`HEHDT,${(91 + (k % 3) * 0.4).toFixed(1)},T`);
    }
    block += sentence('SDMTW,12.4,C');
    parts.push(block);
    length += block.length;
  }
  return parts.join('');
}

/** The recorded log again and again, its times moved on so that the clock runs on. */
function repeatedLog(text: string, bytes: number): string {
  const lines = text.trimEnd().split(/\r?\n/);
  const parts: string[] = [];
  let length = 0;
  for (let k = 0; length < bytes; k++) {
    const moved = lines
      .map((line) => {
        const time = /^\$..ZDA,(\d{6})/.exec(line)?.[1] ?? /^\$..GLL,(?:[^,]*,){4}(\d{6})/.exec(line)?.[1];
        if (time === undefined || k === 0) return `${line}\r\n`;
        const seconds = Number(time.slice(0, 2)) * 3600 + Number(time.slice(2, 4)) * 60 + Number(time.slice(4)) + k * 14_900;
        return sentence((line.slice(1).split('*')[0] as string).replace(time, clock(seconds)));
      })
      .join('');
    parts.push(moved);
    length += moved.length;
  }
  return parts.join('');
}

/** NMEA 0183 reading against the common npm parsers on the same log, in MB/s of one core. */
export async function run(): Promise<BenchResult[]> {
  const results: BenchResult[] = [];
  const logs: [string, string][] = [['generated survey log', generatedLog(BYTES)]];
  if (existsSync(RECORDED)) logs.push(['recorded 4 h log repeated', repeatedLog(readFileSync(RECORDED, 'latin1'), BYTES)]);
  for (const [what, text] of logs) {
    const bytes = new TextEncoder().encode(text);
    const part = text.slice(0, text.lastIndexOf('\n', PEER_BYTES) + 1);
    const source = bytesSource('bench.log', bytes);
    const ours = async (): Promise<void> => {
      const summary = await readLog(source, { noDate: '2026-05-01', onChunk: (chunk) => keep(chunk.pings?.n ?? 0) });
      if (summary.fixes === 0 || summary.pings === 0 || summary.rejects.length > 0) throw new Error(`bench: ${what} was not read as meant`);
    };
    const peers: [string, () => void][] = [
      [
        'gps 0.9.0 (npm)',
        () => {
          for (const line of part.split('\r\n')) {
            if (line === '') continue;
            try {
              keep(GPS.Parse(line) === false ? 0 : 1);
            } catch {
              keep(0); // a sentence it refuses
            }
          }
        },
      ],
      [
        'nmea-simple 3.3.0 (npm)',
        () => {
          for (const line of part.split('\r\n')) {
            if (line === '') continue;
            try {
              keep(parseNmeaSentence(line).sentenceId.length);
            } catch {
              keep(0); // a sentence type it does not know
            }
          }
        },
      ],
    ];
    const [own, ...others] = await measureInTurn([ours, ...peers.map(([, fn]) => fn)], 7);
    const rate = asRate(own as NonNullable<typeof own>, bytes.length);
    peers.forEach(([name], k) => {
      const peer = asRate(others[k] as NonNullable<typeof own>, part.length);
      const ratio = rate.median / peer.median;
      results.push({
        name: `readLog: ${(bytes.length / 1e6).toFixed(0)} MB, ${what}`,
        ours: { ...rate, unit: 'MB/s' },
        peer: { name, ...peer },
        ratio,
        budget: `at least ${BUDGET_RATE} MB/s and ${BUDGET_RATIO} times the peer`,
        met: rate.median >= BUDGET_RATE && ratio >= BUDGET_RATIO,
      });
    });
  }
  return results;
}
