import { errorFigures, shareOf } from './error-figures.js';
import type { ErrorFigures, Share } from './error-figures.js';
import { isClearLook, isOfObject, lookedOver, type LookedOver } from './find-truth.js';
import { SEA_BED_KINDS } from './sea-bed.js';
import type { SeaBedKind } from './sea-bed.js';
import type { SeaBedObject } from './sea-bed-objects.js';
import type { ObjectLook, SideScanTruth } from './side-scan-truth.js';

/** What was made of side-scan logs: a row a ping. Shape of every column: [n]. */
export interface ImageryColumns {
  readonly n: number;
  /** Index into `logFiles`, and 0-based ping in that log. */
  readonly log: ArrayLike<number>;
  readonly record: ArrayLike<number>;
  /** Sonar above the floor; NaN where unknown [m]. */
  readonly heightM: ArrayLike<number>;
  /** Of the sonar, in the frame [m]; clockwise from true north [deg]. */
  readonly xM: ArrayLike<number>;
  readonly yM: ArrayLike<number>;
  readonly headingDeg: ArrayLike<number>;
  /** 0 good. */
  readonly fault: ArrayLike<number>;
  /** Line it was run on as the survey has it; -1 none: not looked over. */
  readonly line: ArrayLike<number>;
}

/** Something found, in the frame with its covariance [m, m2], with its height above the floor and one sigma of that; NaN unknown [m]. */
export interface FoundThing {
  readonly xM: number;
  readonly yM: number;
  readonly xx: number;
  readonly xy: number;
  readonly yy: number;
  readonly heightM: number;
  readonly heightSigmaM: number;
}

/** What the survey really held. */
export interface ImageryTruth {
  readonly pings: readonly SideScanTruth[];
  readonly objects: readonly SeaBedObject[];
  readonly looks: readonly ObjectLook[];
}

/** One object and what became of it. */
export interface ObjectFigures {
  readonly name: string;
  readonly sizeM: number;
  readonly heightM: number;
  readonly natural: boolean;
  /** Clear looks at it: see find-truth.ts. */
  readonly looks: number;
  readonly found: boolean;
  /** From where it is to where it was found, and the height found [m]; NaN where it was not. */
  readonly offM: number;
  readonly foundHeightM: number;
}

export interface ImageryFigures {
  /** Pings of the truth on lines that are among the rows. */
  readonly pings: Share;
  /** Pings on lines, not silent, whose height is within 0.25 m of the truth; unknown ones count as not. By kind of floor under the sonar, and all. */
  readonly bottom: { readonly all: Share; readonly errors: ErrorFigures; readonly byKind: readonly { readonly kind: SeaBedKind; readonly within: Share; readonly errors: ErrorFigures }[] };
  /** Place of the sonar (distances) and its heading [m, deg], of pings on lines without fault. */
  readonly position: ErrorFigures;
  readonly headingDeg: ErrorFigures;
  readonly objects: readonly ObjectFigures[];
  /** Of the planted ones with a look, those found: of `large` ones 0.5 m and larger, of the others; `held`: of those found, whose 95 % ellipse holds the true place. Null where finding was not run. */
  readonly found: { readonly large: Share; readonly small: Share; readonly natural: Share; readonly offM: ErrorFigures; readonly held: Share } | null;
  /** Heights found over true heights, less one, of planted objects at least 0.25 m high; within 0.15 of the truth. */
  readonly height: { readonly ratio: ErrorFigures; readonly within: Share } | null;
  /** Finds of no object, by the floor that was looked over and by the hectares of it in each pass. */
  readonly false: ({ readonly count: number; readonly perFloorHa: number; readonly perLookedHa: number } & LookedOver) | null;
}

export const BOTTOM_LIMIT_M = 0.25;
export const HEIGHT_LIMIT = 0.15;
export const LARGE_M = 0.5;
const HIGH_M = 0.25;
/** Squared distance within which 95 % of places lie: chi-square, two degrees of freedom. Source: Abramowitz & Stegun table 26.8. */
const HELD_95 = 5.991;

/**
 * Holds what was made of side-scan logs against what was so.
 *
 * @param logFiles file name of each log index of the rows; a folder before the name does not matter
 * @param finds what was found, or null where finding was not run
 * @throws RangeError where a log of the truth is not among logFiles
 */
export function compareImagery(truth: ImageryTruth, logFiles: readonly string[], rows: ImageryColumns, finds: readonly FoundThing[] | null, rangeM: number): ImageryFigures {
  const names = logFiles.map((file) => file.slice(Math.max(file.lastIndexOf('/'), file.lastIndexOf('\\')) + 1));
  const rowOf = truth.pings.map((log) => {
    const index = names.indexOf(log.file);
    if (index < 0) throw new RangeError(`logFiles: expected ${log.file} among them, found ${logFiles.join(', ') || 'none'}`);
    const at = new Int32Array(log.n).fill(-1);
    for (let i = 0; i < rows.n; i++) if (rows.log[i] === index && rows.record[i]! < log.n) at[rows.record[i]!] = i;
    return at;
  });

  let wanted = 0;
  let joined = 0;
  const heights = SEA_BED_KINDS.map((): number[] => []);
  const places: number[] = [];
  const headings: number[] = [];
  for (const [l, log] of truth.pings.entries()) {
    for (let k = 0; k < log.n; k++) {
      if (log.line[k]! < 0) continue;
      wanted++;
      const row = rowOf[l]![k]!;
      if (row < 0) continue;
      joined++;
      if (log.silent[k] === 0) heights[log.kind[k]!]!.push(rows.heightM[row]! - log.heightM[k]!);
      if (rows.fault[row] !== 0) continue;
      places.push(Math.hypot(rows.xM[row]! - log.xM[k]!, rows.yM[row]! - log.yM[k]!));
      headings.push((((rows.headingDeg[row]! - log.headingDeg[k]!) % 360) + 540) % 360 - 180);
    }
  }
  const within = (errors: readonly number[], limit: number): Share => shareOf(errors.filter((error) => Math.abs(error) <= limit).length, errors.length);
  const all = heights.flat();
  const { objects, height, beside, held } = matchFinds(truth, finds, rangeM);
  const looked = lookedOver(rows, (row) => rows.fault[row] === 0 && rows.line[row]! >= 0, (row) => Math.sqrt(Math.max(0, rangeM ** 2 - (rows.heightM[row]! || 0) ** 2)));
  const planted = objects.filter(({ natural, looks }) => !natural && looks > 0);
  const foundOf = (list: readonly ObjectFigures[]): Share => shareOf(list.filter(({ found }) => found).length, list.length);
  return {
    pings: shareOf(joined, wanted),
    bottom: {
      all: within(all, BOTTOM_LIMIT_M),
      errors: errorFigures(Float64Array.from(all)),
      byKind: SEA_BED_KINDS.map((kind, code) => ({ kind, within: within(heights[code]!, BOTTOM_LIMIT_M), errors: errorFigures(Float64Array.from(heights[code]!)) })).filter((one) => one.within.of > 0),
    },
    position: errorFigures(Float64Array.from(places)),
    headingDeg: errorFigures(Float64Array.from(headings)),
    objects,
    found:
      finds === null
        ? null
        : {
            large: foundOf(planted.filter(({ sizeM }) => sizeM >= LARGE_M)),
            small: foundOf(planted.filter(({ sizeM }) => sizeM < LARGE_M)),
            natural: foundOf(objects.filter(({ natural, looks }) => natural && looks > 0)),
            offM: errorFigures(Float64Array.from(planted, ({ offM }) => offM)),
            held: shareOf(held.filter((one) => one).length, held.length),
          },
    height: finds === null ? null : { ratio: errorFigures(Float64Array.from(height)), within: within(height, HEIGHT_LIMIT) },
    false: finds === null ? null : { count: beside, perFloorHa: beside / looked.floorHa, perLookedHa: beside / looked.lookedHa, ...looked },
  };
}

/** Gives each object the nearest find that is of it, and counts the finds of none. */
function matchFinds(truth: ImageryTruth, finds: readonly FoundThing[] | null, rangeM: number): { objects: ObjectFigures[]; height: number[]; beside: number; held: boolean[] } {
  const height: number[] = [];
  const held: boolean[] = [];
  const used = new Set<number>();
  const objects = truth.objects.map((object, index): ObjectFigures => {
    const looks = truth.looks.filter((look) => look.object === index && isClearLook(look, truth.pings[look.log]!, rangeM)).length;
    let find: FoundThing | null = null;
    let least = Infinity;
    for (const [i, one] of (finds ?? []).entries()) {
      if (!isOfObject(one.xM, one.yM, object)) continue;
      used.add(i);
      const off = Math.hypot(one.xM - object.xM, one.yM - object.yM);
      if (off < least) [least, find] = [off, one];
    }
    if (find !== null && !object.natural) {
      if (object.heightM >= HIGH_M && !Number.isNaN(find.heightM)) height.push(find.heightM / object.heightM - 1);
      held.push(isHeld(find, object));
    }
    return {
      name: object.name,
      sizeM: Math.max(object.lengthM, object.widthM),
      heightM: object.heightM,
      natural: object.natural,
      looks,
      found: find !== null,
      offM: find === null ? NaN : least,
      foundHeightM: find?.heightM ?? NaN,
    };
  });
  return { objects, height, beside: (finds ?? []).length - used.size, held };
}

/** Whether the 95 % ellipse of a place holds another. */
export function isHeld({ xM, yM, xx, xy, yy }: Pick<FoundThing, 'xM' | 'yM' | 'xx' | 'xy' | 'yy'>, at: { readonly xM: number; readonly yM: number }): boolean {
  const [dx, dy] = [at.xM - xM, at.yM - yM];
  return (yy * dx * dx - 2 * xy * dx * dy + xx * dy * dy) / (xx * yy - xy * xy) <= HELD_95;
}
