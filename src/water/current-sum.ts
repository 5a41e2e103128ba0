import { formatUtc } from '../base/time.js';
import type { CurrentField } from './current-field.js';

/**
 * Currents on top of each other, e.g. a tidal stream and a river. Known where and when all are; sigmas add as squares.
 * @throws RangeError for no current, or currents with no time in common
 */
export function sumOfCurrents(fields: readonly CurrentField[], source = fields.map((field) => field.source).join(' + ')): CurrentField {
  if (fields.length === 0) throw new RangeError('fields: expected one or more currents');
  const startS = Math.max(...fields.map((field) => field.startS));
  const endS = Math.min(...fields.map((field) => field.endS));
  if (!(startS <= endS)) throw new RangeError(`currents with no time in common: the latest starts at ${formatUtc(startS)}, the earliest ends at ${formatUtc(endS)}`);
  const part = new Float64Array(3);
  return {
    at(xM, yM, timeS, out) {
      let x = 0;
      let y = 0;
      let variance = 0;
      for (const field of fields) {
        field.at(xM, yM, timeS, part);
        x += part[0]!;
        y += part[1]!;
        variance += part[2]! * part[2]!;
      }
      out[0] = x;
      out[1] = y;
      out[2] = Math.sqrt(variance);
    },
    startS,
    endS,
    maxMps: fields.reduce((sum, field) => sum + field.maxMps, 0),
    source,
  };
}

/** A current times a number, e.g. 1.2 to try a stronger stream; its sigma grows with it. @throws RangeError for a factor that is not a number */
export function scaledCurrent(field: CurrentField, factor: number, source = `${factor} x ${field.source}`): CurrentField {
  if (!Number.isFinite(factor)) throw new RangeError(`factor ${factor}: expected a number`);
  return {
    at(xM, yM, timeS, out) {
      field.at(xM, yM, timeS, out);
      out[0] = out[0]! * factor;
      out[1] = out[1]! * factor;
      out[2] = out[2]! * Math.abs(factor);
    },
    startS: field.startS,
    endS: field.endS,
    maxMps: field.maxMps * Math.abs(factor),
    source,
  };
}

/** Why there is no current at a place and time, in a sentence for the user; null where there is one. */
export function whyNoCurrent(field: CurrentField, xM: number, yM: number, timeS: number): string | null {
  const out = new Float64Array(3);
  field.at(xM, yM, timeS, out);
  if (!Number.isNaN(out[0]! + out[1]!)) return null;
  if (Number.isNaN(timeS)) return `current (${field.source}): no time is given`;
  if (timeS < field.startS) return `current (${field.source}): known from ${formatUtc(field.startS)}, asked for ${formatUtc(timeS)}; give a source that covers it, or start later`;
  if (timeS > field.endS) return `current (${field.source}): known until ${formatUtc(field.endS)}, asked for ${formatUtc(timeS)}; give a source that covers it, or start earlier`;
  return `current (${field.source}): nothing known at ${formatUtc(timeS)} at x ${xM.toFixed(0)} m, y ${yM.toFixed(0)} m: a gap in its times, or outside its raster`;
}
