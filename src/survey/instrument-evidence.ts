import { half95 } from '../boat/estimate.js';
import type { BarCheck } from '../depths/bar-check.js';
import type { HeadingRun } from '../depths/heading-check.js';
import type { LatencyPair } from '../depths/latency-check.js';
import type { StaticCheck } from '../depths/static-check.js';
import type { Settings } from './settings.js';

/** What an instrument check rests on: enough to draw it. Half widths are 95 %. */
export type CheckEvidence = BarEvidence | StaticEvidence | HeadingEvidence | LatencyEvidence;

export interface BarEvidence {
  readonly kind: 'bar';
  readonly checks: readonly {
    readonly whenUtc: string | null;
    /** Plate below the water, mean reading from the transducer down, number of readings, half width of that mean [m]. */
    readonly rows: readonly { readonly barM: number; readonly readM: number; readonly count: number; readonly half95M: number }[];
    /** depth = scale x reading + draft, as fitted; null where the check cannot be used. */
    readonly fit: { readonly scale: number; readonly draftM: number } | null;
  }[];
  /** The same by the settings. */
  readonly set: { readonly scale: number; readonly draftM: number };
}

export interface StaticEvidence {
  readonly kind: 'static';
  readonly stays: readonly {
    /** Fixes less the mark, thinned evenly to FIXES_SHOWN [m]. */
    readonly eastM: readonly number[];
    readonly northM: readonly number[];
    readonly meanEastM: number;
    readonly meanNorthM: number;
    readonly radius95M: number;
    /** What the order allows [m]. */
    readonly limitM: number;
  }[];
}

export interface HeadingEvidence {
  readonly kind: 'heading';
  /** By run: course made good, compass less course, nothing taken off [deg]. */
  readonly runs: readonly { readonly courseDeg: number; readonly offDeg: number; readonly half95Deg: number }[];
  readonly setDeg: number;
}

export interface LatencyEvidence {
  readonly kind: 'latency';
  /** By line run both ways: age of positions [s], root mean square slope along it as tangent. */
  readonly pairs: readonly { readonly latencyS: number; readonly half95S: number; readonly lengthM: number; readonly slope: number }[];
  readonly setS: number;
}

/** Fixes of one stay that are kept to be drawn. */
const FIXES_SHOWN = 300;

const rounded = (value: number, digits: number): number => Number(value.toFixed(digits));

/** @param scaleSet what the settings multiply readings by [1] */
export function barEvidence(checks: readonly { readonly whenUtc: string | null; readonly sigmaM: number; readonly check: BarCheck }[], scaleSet: number, settings: Settings): BarEvidence {
  return {
    kind: 'bar',
    checks: checks.map(({ whenUtc, sigmaM, check }) => ({
      whenUtc,
      rows: check.rows.map(({ barM, readM, count }) => ({ barM, readM: rounded(readM, 4), count, half95M: rounded(1.96 * sigmaM, 4) })),
      fit: check.refused === '' ? { scale: rounded(check.scale.value, 6), draftM: rounded(check.draftM.value, 4) } : null,
    })),
    set: { scale: rounded(scaleSet, 6), draftM: settings.sounder.draftM },
  };
}

/** @param offsets for each stay its fixes less the mark [m], shape [n] each */
export function staticEvidence(checks: readonly StaticCheck[], offsets: readonly { readonly eastM: Float64Array; readonly northM: Float64Array }[]): StaticEvidence {
  return {
    kind: 'static',
    stays: checks.map((check, i) => {
      const { eastM, northM } = offsets[i]!;
      const every = Math.max(1, Math.ceil(eastM.length / FIXES_SHOWN));
      const thin = (values: Float64Array): number[] => Array.from(values.filter((_, k) => k % every === 0), (value) => rounded(value, 3));
      return { eastM: thin(eastM), northM: thin(northM), meanEastM: rounded(check.eastM.value, 3), meanNorthM: rounded(check.northM.value, 3), radius95M: rounded(check.radius95M, 3), limitM: rounded(check.limitM, 3) };
    }),
  };
}

export function headingEvidence(runs: readonly HeadingRun[], settings: Settings): HeadingEvidence {
  const setDeg = settings.heading.offsetDeg;
  return {
    kind: 'heading',
    runs: runs.map(({ courseDeg, offDeg, offSigmaDeg }) => ({ courseDeg: rounded(((courseDeg % 360) + 360) % 360, 1), offDeg: rounded(offDeg + setDeg, 2), half95Deg: rounded(1.96 * offSigmaDeg, 2) })),
    setDeg,
  };
}

export function latencyEvidence(pairs: readonly LatencyPair[], settings: Settings): LatencyEvidence {
  const setS = settings.gnss.latencyS;
  return { kind: 'latency', pairs: pairs.map(({ latencyS, lengthM, slope }) => ({ latencyS: rounded(latencyS.value + setS, 4), half95S: rounded(half95(latencyS), 4), lengthM: rounded(lengthM, 1), slope: rounded(slope, 4) })), setS };
}
