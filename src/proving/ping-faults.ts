import type { Random } from '../base/random.js';
import type { FaultRates } from './proving-options.js';
import { PING_FAULTS } from './truth.js';

const CODE = Object.fromEntries(PING_FAULTS.map((name, code) => [name, code])) as Record<(typeof PING_FAULTS)[number], number>;

/** What a faulty instrument writes. */
export interface FaultyDepth {
  /** As written [m]; NaN: an empty field. */
  depthM: number;
  /** Code of PING_FAULTS. */
  fault: number;
}

/**
 * An echo sounder's bad habits: single spikes, bursts of 2 to 5, second echoes at twice the range in runs of 1 to 4,
 * dropouts in runs of 1 to 15 written as 0.00 or as nothing, values frozen for 4 to 9 s.
 *
 * Spikes are 0.4 to 9 m, as many between 0.4 and 1 m as between 1 and 2.5 m; three in five shoal. A shoal spike leaves
 * 0.35 m at least; where there is no room for that it is a deep one.
 */
export function createPingFaults(rates: FaultRates, random: Random, startS: number, endS: number): (timeS: number, depthM: number, out: FaultyDepth) => void {
  const frozen = episodes(random.fork('frozen'), rates.frozenPerHour, startS, endS, 4, 9);
  let frozenAt = 0;
  let lastWritten = NaN;
  let run = 0;
  let kind = 0;
  let base = 0;
  let blank = false;
  const spike = (size: number, shoal: boolean, depthM: number): number => (shoal && depthM - size >= 0.35 ? depthM - size : depthM + size);
  const size = (): number => 0.4 * Math.exp(random.uniform() * Math.log(9 / 0.4));

  return (timeS, depthM, out) => {
    out.fault = CODE.none;
    out.depthM = depthM;
    while (frozenAt < frozen.length && timeS > frozen[frozenAt]!.endS) frozenAt++;
    const freeze = frozen[frozenAt];
    if (freeze !== undefined && timeS >= freeze.startS && lastWritten > 0) {
      out.depthM = lastWritten;
      out.fault = CODE.frozen;
      run = 0;
      return;
    }
    if (run === 0) {
      let chance = random.uniform();
      if ((chance -= rates.spikeShare) < 0) {
        kind = CODE.spike;
        run = 1;
        base = (random.uniform() < 0.6 ? -1 : 1) * size();
      } else if ((chance -= rates.burstShare) < 0) {
        kind = CODE.burst;
        run = 2 + random.integer(4);
        base = (random.uniform() < 0.6 ? -1 : 1) * size();
      } else if ((chance -= rates.doubleShare) < 0) {
        kind = CODE.double;
        run = 1 + random.integer(4);
      } else if ((chance -= rates.dropoutShare) < 0) {
        kind = CODE.dropout;
        run = 1 + random.integer(15);
        blank = random.uniform() < 0.4;
      }
    }
    if (run > 0) {
      run--;
      out.fault = kind;
      if (kind === CODE.spike) out.depthM = spike(Math.abs(base), base < 0, depthM);
      else if (kind === CODE.burst) out.depthM = spike(Math.max(0.4, Math.abs(base) + 0.2 * random.normal()), base < 0, depthM);
      else if (kind === CODE.double) out.depthM = 2 * depthM;
      else out.depthM = blank ? NaN : 0;
    }
    out.depthM = Math.round(out.depthM * 100) / 100;
    lastWritten = out.depthM;
  };
}

/** A stretch of time. */
export interface Episode {
  readonly startS: number;
  readonly endS: number;
}

/** Stretches at random times, so many an hour on average, each as long as drawn between two limits; in order. */
export function episodes(random: Random, perHour: number, startS: number, endS: number, shortestS: number, longestS: number): Episode[] {
  const list: Episode[] = [];
  if (!(perHour > 0)) return list;
  // Not in the first minute, so that an instrument has something to be measured against.
  let at = startS + 60;
  for (;;) {
    at += (-Math.log(1 - random.uniform()) * 3600) / perHour;
    if (at >= endS) return list;
    const end = at + random.between(shortestS, longestS);
    list.push({ startS: at, endS: end });
    at = end;
  }
}
