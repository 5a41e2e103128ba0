import { parseUtc } from '../base/time.js';

/** What netCDF holds where a whole number of 64 bits without sign was not written. */
const FILL_UINT64 = 0xffff_ffff_ffff_fffen;
const SCALES: Readonly<Record<string, number>> = { nano: 1e9, micro: 1e6, milli: 1e3, '': 1 };

/**
 * Times of a netCDF variable as UTC seconds since 1970, by its `units`: seconds, or parts of them, minutes, hours or days since a moment.
 *
 * @param values whole numbers of 64 bits keep what a float64 of seconds can hold (0.2 us in this century)
 * @returns null where the units are none that are understood
 * Source: CF conventions 1.7, 4.4; ICES SONAR-netCDF4 1.0: nanoseconds since 1601-01-01.
 */
export function netcdfTimes(units: string, values: ArrayLike<number | bigint>): Float64Array | null {
  const match = /^\s*(nano|micro|milli)?(s|sec|secs|seconds?|minutes?|hours?|days?)\s+since\s+(.+?)\s*$/i.exec(units);
  if (match === null) return null;
  const epochS = parseUtc((match[3] as string).replace(/\s+UTC$/i, 'Z').replace(/(\d)Z$/, '$1Z').replace(/^(\d{4}-\d{2}-\d{2}) (.*)$/, '$1T$2'));
  if (Number.isNaN(epochS)) return null;
  const unit = (match[2] as string).toLowerCase();
  const seconds = unit.startsWith('m') ? 60 : unit.startsWith('h') ? 3600 : unit.startsWith('d') ? 86_400 : 1;
  const parts = SCALES[(match[1] ?? '').toLowerCase()] as number;
  const [partsBig, out] = [BigInt(parts), new Float64Array(values.length)];
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number | bigint;
    out[i] = typeof value === 'bigint' ? Number(value / partsBig) * seconds + epochS + (Number(value % partsBig) / parts) * seconds : (value / parts) * seconds + epochS;
    // Fill values of whole numbers lie far outside any time that can be meant.
    if (!(Math.abs(out[i] as number) < 1e10) || value === FILL_UINT64) out[i] = NaN;
  }
  return out;
}

/** UTC seconds as nanoseconds since 1601-01-01, as SONAR-netCDF4 has them; 0 for NaN. */
export function toNanoseconds1601(timeS: number): bigint {
  if (!Number.isFinite(timeS)) return 0n;
  const second = Math.floor(timeS);
  return (BigInt(second) + 11_644_473_600n) * 1_000_000_000n + BigInt(Math.round((timeS - second) * 1e9));
}
