import type { BoatModel } from '../boat/boat-model.js';
import type { Frame } from '../geo/frame.js';
import type { KeepOut } from '../geo/keep-out.js';
import type { Polygon, Polyline } from '../geo/shapes.js';
import type { CurrentField } from '../water/current-field.js';

/** How lines are to be laid; the keys of `lines` in survey.json, and a few more that have defaults. */
export interface LineOptions {
  /** Between neighbouring main lines, in the frame [m]. */
  readonly spacingM: number;
  /** Spacing that follows the depth: at a place [m], NaN where the depth is not known; spacingM is then the narrowest. null or left out: even. Not with cells. While dragging it is looked at on a coarser grid. */
  readonly spacingAtM?: ((xM: number, yM: number) => number) | null;
  /** Main lines' heading, true, 0 <= heading < 360 [deg]; null: the one that takes least time. */
  readonly headingDeg: number | null;
  /** Length of cross lines over length of main lines, at least; 0: none. */
  readonly crossShare: number;
  /** Straight run before and after a line, so that the boat is steady on it [m]. */
  readonly runInM: number;
  readonly runOutM: number;
  /** A shorter stretch is not a line [m]. */
  readonly minLengthM: number;
  /** Lines keep this far inside the area and away from keep-outs [m]. */
  readonly insetM: number;
  /** Lines stop this far from keep-outs, or insetM where that is more [m]. Default 0. */
  readonly keepoutM?: number;
  /** Speed over the ground on lines and in transit [m/s]. */
  readonly speedMps: number;
  /** Time lost at each change from one line to the next, over its length [s]. Default 8 (common practice; no source). */
  readonly turnS?: number;
  /** Transit keeps this far from keep-outs where it can [m]. Default: the largest of insetM, keepoutM and 2. */
  readonly clearanceM?: number;
  /** Where the boat starts and is to come back to, in the frame [m]; null: not counted. */
  readonly launch?: { readonly xM: number; readonly yM: number } | null;
  /** `drag`: quick, for a plan that follows the pointer. `full` (default): the order is worked on. */
  readonly effort?: 'drag' | 'full';
  /** Parts of the area may have lines on headings of their own, where that takes less time; only with headingDeg null and full effort. Default false. */
  readonly cells?: boolean;
  /**
   * `cut` (default): lines end where they leave the area. `cover`: they reach as far as a band of half a spacing to either side
   * meets the area, and short lines are run along keep-outs where bands leave something out: at least 99.9 % of what can be
   * reached is covered where there is room for it.
   */
  readonly edges?: 'cut' | 'cover';
  /** How the boat turns: turns then cost what they take (boatTurns), and turnS is not used. */
  readonly boat?: BoatModel | null;
  /** The current the order is found in, and the UTC second the boat leaves; speedMps is then the speed through the water. */
  readonly current?: CurrentField | null;
  readonly startS?: number;
}

/** What `planLines` is given. */
export interface LineRequest {
  /** Polygons to be covered; may touch or overlap. */
  readonly area: readonly Polygon[];
  /** Where the boat must not go; those by tide are taken as closed (planLinesByTide opens them). */
  readonly keepouts: readonly KeepOut[];
  readonly frame: Frame;
  readonly options: LineOptions;
}

export type LineKind = 'main' | 'cross' | 'fill-in';

/** One straight line, in the direction it is run. Positions in the frame [m]. */
export interface SurveyLine {
  /** Its name for the crew: main lines from 1 across the area, then cross lines. */
  readonly number: number;
  readonly kind: LineKind;
  /** 1-based place in the run order. */
  readonly order: number;
  readonly startXM: number;
  readonly startYM: number;
  readonly endXM: number;
  readonly endYM: number;
  /** True, as run, 0 <= heading < 360 [deg]. */
  readonly headingDeg: number;
  /** Without run-in and run-out [m]. */
  readonly lengthM: number;
  /** What there is room for, at most what was asked [m]. */
  readonly runInM: number;
  readonly runOutM: number;
}

/** Where a line's run begins (start of its run-in) and ends (end of its run-out). */
export function runEnds(line: SurveyLine): { readonly fromXM: number; readonly fromYM: number; readonly toXM: number; readonly toYM: number } {
  const dx = line.endXM - line.startXM;
  const dy = line.endYM - line.startYM;
  const length = Math.hypot(dx, dy);
  const ux = length > 0 ? dx / length : 0;
  const uy = length > 0 ? dy / length : 0;
  return {
    fromXM: line.startXM - ux * line.runInM,
    fromYM: line.startYM - uy * line.runInM,
    toXM: line.endXM + ux * line.runOutM,
    toYM: line.endYM + uy * line.runOutM,
  };
}

/** The way from the end of one run to the start of the next. */
export interface Transit {
  /** Numbers of the lines it joins; null: the launch point. */
  readonly fromLine: number | null;
  readonly toLine: number | null;
  /** Straight where nothing is in the way, else around keep-outs; empty where there is no way. */
  readonly path: Polyline;
  readonly lengthM: number;
}

/** Lines, the order to run them in, and what that takes. Lengths in the frame: within 0.1 % of the ground. */
export interface LinePlan {
  /** In the order of their numbers. */
  readonly main: readonly SurveyLine[];
  readonly cross: readonly SurveyLine[];
  /** Line numbers as they are run. */
  readonly order: readonly number[];
  /** One between each two runs, and from and to the launch point where there is one. */
  readonly transits: readonly Transit[];
  /** Main lines' heading, true [deg]: as asked, else 0 <= heading < 180; with cells, that of the cell with the most lines. */
  readonly headingDeg: number;
  readonly spacingM: number;
  readonly lengths: {
    readonly mainM: number;
    readonly crossM: number;
    readonly runInOutM: number;
    readonly transitM: number;
    readonly totalM: number;
    /** cross over main; NaN without main lines. */
    readonly crossShare: number;
  };
  readonly time: {
    readonly mainS: number;
    readonly crossS: number;
    /** Run-ins, run-outs and transits at the same speed. */
    readonly transitS: number;
    readonly turns: number;
    readonly turnsS: number;
    readonly totalS: number;
  };
  /** Why it is as it is, in plain words. */
  readonly why: readonly string[];
  /** What the crew should look at before they run it, in plain words. */
  readonly notes: readonly string[];
}
