import { bytesSource } from '../../src/base/byte-source.js';
import type { ByteSource } from '../../src/base/byte-source.js';
import type { LogObservations, LogSummary } from '../../src/base/observations.js';
import type { LogOptions } from '../../src/formats/log-reader.js';
import { collectObservations } from '../../src/formats/log-reader.js';

/** `$` + body + `*` + checksum, without line end (IEC 61162-1 7.2.3.4: exclusive or of all characters between `$` and `*`). */
export function sentence(body: string): string {
  let sum = 0;
  for (let i = 0; i < body.length; i++) sum ^= body.charCodeAt(i);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}`;
}

export function source(text: string | Uint8Array, name = 'trial.log'): ByteSource {
  return bytesSource(name, typeof text === 'string' ? Uint8Array.from(text, (c) => c.charCodeAt(0)) : text);
}

export async function read(text: string | Uint8Array | readonly string[], options: LogOptions = {}): Promise<{ observations: LogObservations; summary: LogSummary }> {
  const whole = typeof text === 'string' || text instanceof Uint8Array ? text : text.map((line) => `${line}\r\n`).join('');
  return collectObservations(source(whole), options);
}

export function rejects(summary: LogSummary): Record<string, number> {
  return Object.fromEntries(summary.rejects.map((reject) => [reject.code, reject.count]));
}

export function iso(timeS: number | undefined): string {
  return new Date((timeS as number) * 1000).toISOString();
}

/** `hhmmss.ss` of seconds in a day. */
export function clock(seconds: number): string {
  const s = ((seconds % 86_400) + 86_400) % 86_400;
  const whole = Math.floor(s);
  const two = (v: number): string => String(v).padStart(2, '0');
  return `${two(Math.floor(whole / 3600))}${two(Math.floor(whole / 60) % 60)}${two(whole % 60)}.${two(Math.round((s - whole) * 100))}`;
}

/** A GGA with a fix, at 46 N 30 W and `north` minutes further. */
export function gga(seconds: number, north = 0): string {
  return sentence(`GPGGA,${clock(seconds)},46${(10 + north).toFixed(4).padStart(7, '0')},N,03000.0000,W,1,09,0.9,1.5,M,57.0,M,,`);
}

export function rmc(seconds: number, ddmmyy: string): string {
  return sentence(`GPRMC,${clock(seconds)},A,4610.0000,N,03000.0000,W,3.0,090.0,${ddmmyy},,,A`);
}
