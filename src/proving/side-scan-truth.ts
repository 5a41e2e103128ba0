import type { Side } from '../base/sonar.js';
import type { SeaBedObject } from './sea-bed-objects.js';

/** What was really so at each ping of a side-scan log, in the order of its records. Shape of every column: [n]. */
export interface SideScanTruth {
  readonly file: string;
  readonly n: number;
  /** UTC of the ping, without the sonar's clock error [s]. */
  readonly timeS: Float64Array;
  /** Where the sonar was, in the frame [m]. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Clockwise from true north, and from grid north [deg]. */
  readonly headingDeg: Float64Array;
  readonly gridHeadingDeg: Float64Array;
  /** Of the sonar above the hard floor straight below it: not above seagrass or an object [m]. */
  readonly heightM: Float64Array;
  readonly belowSurfaceM: Float64Array;
  /** Mean speed of sound from the sonar down to the floor [m/s]. */
  readonly soundSpeedMps: Float64Array;
  /** Starboard down and bow up positive [deg]. */
  readonly rollDeg: Float64Array;
  readonly pitchDeg: Float64Array;
  /** Code of SEA_BED_KINDS straight below. */
  readonly kind: Uint8Array;
  /** Which of the lines that were run, from 0; -1 between lines. */
  readonly line: Int32Array;
  /** 1 where the ping was lost and holds nothing but noise. */
  readonly silent: Uint8Array;
}

/** One time an object came abeam of the sonar within its range. */
export interface ObjectLook {
  /** Place in the list of objects, of the log in the list of logs, of the ping in the log. */
  readonly object: number;
  readonly log: number;
  readonly record: number;
  /** -1 between lines. */
  readonly line: number;
  readonly side: Side;
  /** To the foot of the object's middle, straight and along the floor [m]. */
  readonly slantM: number;
  readonly groundM: number;
  /** Of the sonar above the floor at the object [m]. */
  readonly heightM: number;
  /** Slant length of the shadow an upright object as high as this throws on level ground [m]; Infinity where it is as high as the sonar. */
  readonly shadowM: number;
}

/**
 * Every time an object came abeam within range, log by log.
 *
 * Shadow, by similar triangles: on level ground the ray over the top of an object H high at slant range R from a sonar h
 * above the floor meets the floor at R h / (h - H): S = R H / (h - H), near enough where the object is thin.
 *
 * @param rangesM slant range of each log's pings [m]
 */
export function objectLooks(objects: readonly SeaBedObject[], logs: readonly SideScanTruth[], rangesM: readonly Float64Array[], floorBelowSonarM: (log: number, record: number, xM: number, yM: number) => number, scale: number): ObjectLook[] {
  const looks: ObjectLook[] = [];
  for (const [index, object] of objects.entries()) {
    for (const [log, truth] of logs.entries()) {
      let lastAlong = NaN;
      for (let k = 0; k < truth.n; k++) {
        const heading = (truth.gridHeadingDeg[k]! * Math.PI) / 180;
        const dx = (object.xM - truth.xM[k]!) / scale;
        const dy = (object.yM - truth.yM[k]!) / scale;
        const along = dx * Math.sin(heading) + dy * Math.cos(heading);
        const across = dx * Math.cos(heading) - dy * Math.sin(heading);
        // Not across a stop of the log.
        const passed = lastAlong * along <= 0 && Math.abs(along - lastAlong) < 10;
        const nearer = Math.abs(along) <= Math.abs(lastAlong) ? k : k - 1;
        lastAlong = along;
        if (!passed) continue;
        const heightM = floorBelowSonarM(log, nearer, object.xM, object.yM);
        const groundM = Math.abs(across);
        const slantM = Math.hypot(groundM, heightM);
        if (!(slantM < rangesM[log]![nearer]!)) continue;
        const shadowM = object.heightM < heightM ? (slantM * object.heightM) / (heightM - object.heightM) : Infinity;
        looks.push({ object: index, log, record: nearer, line: truth.line[nearer]!, side: across < 0 ? 'port' : 'starboard', slantM, groundM, heightM, shadowM });
      }
    }
  }
  return looks;
}
