import type { SeriesName } from '../../base/observations.js';

/** What a transducer measurement of XDR is kept as, and the factor to its unit. */
export interface TransducerUse {
  readonly series: SeriesName;
  readonly factor: number;
}

/**
 * Which series a group of an XDR sentence (transducer type, data, unit, name) belongs to.
 *
 * | type | unit | name contains | kept as |
 * |---|---|---|---|
 * | A angular displacement | D | PITCH, PTCH, TRIM | pitchDeg |
 * | A | D | ROLL, HEEL | rollDeg |
 * | D linear displacement | M | HEAVE, HEAV | heaveM |
 * | U voltage | V | anything (the first name met) | batteryVoltageV |
 * | I current | A | anything (the first name met) | batteryCurrentA, sign as logged |
 * | C temperature | C | WATER, SEA, WTMP | waterTemperatureC |
 * | G generic, P-less load | P | THR with PORT, THRP, THRL | thrusterPortPct |
 * | G | P | THR with STBD, STARBOARD, THRS, THRR | thrusterStarboardPct |
 *
 * Other groups are passed over. Names in any case.
 * Source: IEC 61162-1 ed. 5 (2016) 8.3.119 for types and units; the names are common practice, the standard leaves them free.
 *
 * @returns null where the group is not used
 */
export function transducerUse(type: string, unit: string, name: string): TransducerUse | null {
  const upper = name.toUpperCase();
  switch (type) {
    case 'A':
      if (unit !== 'D') return null;
      if (/PITCH|PTCH|TRIM/.test(upper)) return { series: 'pitchDeg', factor: 1 };
      if (/ROLL|HEEL/.test(upper)) return { series: 'rollDeg', factor: 1 };
      return null;
    case 'D':
      return unit === 'M' && /HEAV/.test(upper) ? { series: 'heaveM', factor: 1 } : null;
    case 'U':
      return unit === 'V' ? { series: 'batteryVoltageV', factor: 1 } : null;
    case 'I':
      return unit === 'A' ? { series: 'batteryCurrentA', factor: 1 } : null;
    case 'C':
      return unit === 'C' && /WATER|SEA|WTMP/.test(upper) ? { series: 'waterTemperatureC', factor: 1 } : null;
    case 'G':
      if (unit !== 'P' || !upper.includes('THR')) return null;
      if (/STBD|STARBOARD|THRS|THRR|THR_?S|THR_?R/.test(upper)) return { series: 'thrusterStarboardPct', factor: 1 };
      if (/PORT|THR_?P|THR_?L/.test(upper)) return { series: 'thrusterPortPct', factor: 1 };
      return null;
    default:
      return null;
  }
}
