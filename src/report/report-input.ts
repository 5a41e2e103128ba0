import type { Soundings } from '../depths/soundings.js';
import type { Frame } from '../geo/frame.js';
import type { RasterGrid } from '../geo/raster.js';
import type { Polygon, Polyline } from '../geo/shapes.js';
import type { FindsFile } from '../survey/finds-file.js';
import type { SurveySummary } from '../survey/summary.js';

/**
 * Everything a report is made of, in memory. Nothing is read, and nothing is asked of a clock: two reports of equal input
 * are equal bytes. A part that does not exist yet is null or empty, and the report says so.
 * All coordinates are survey-frame metres.
 */
export interface ReportInput {
  readonly summary: SurveySummary;
  /** The frame all coordinates are in; null only where there is nothing to draw. */
  readonly frame: Frame | null;
  readonly soundings: Soundings | null;
  readonly track: ReportTrack | null;
  readonly surface: ReportSurface | null;
  readonly contours: readonly ReportContour[];
  readonly gaps: readonly ReportGap[];
  readonly area: readonly Polygon[];
  readonly keepouts: readonly Polygon[];
  /** Polygons of land. */
  readonly shore: readonly Polygon[];
  readonly planLines: readonly ReportLine[];
  readonly fillLines: readonly ReportLine[];
  readonly crossings: ReportCrossings | null;
  /** The side-scan mosaic as a picture; null or left out where there is none. */
  readonly mosaic?: ReportMosaic | null;
  /** Things located on the bottom with their pictures; null or left out where there was no side-scan. */
  readonly finds?: ReportFinds | null;
  /** Water level used, in time order, for its plot; null: drawn from what was taken off each sounding. */
  readonly waterLevel: ReportWaterLevel | null;
  /** Magnetic variation at the chart's middle on the day, east positive; null: no magnetic north is drawn. */
  readonly variation: ReportVariation | null;
  /** Files besides the logs that the result depends on: settings, area, water level series, sound-speed profile, journal. */
  readonly sources: readonly ReportSource[];
  /** How each derived file was made, from its .made.json, in the order of the steps. */
  readonly made: readonly ReportMade[];
  /** Version of the program and of the libraries a result depends on, e.g. [{name: 'tallow', version: '0.1.0'}]. */
  readonly versions: readonly { readonly name: string; readonly version: string }[];
}

/** The side-scan mosaic, coarse enough for print: row 0 north, from 12 dB below the usual return black to 12 dB above nearly white, white where nothing was seen. */
export interface ReportMosaic {
  readonly png: Uint8Array;
  readonly cols: number;
  readonly rows: number;
  /** Side of a cell of the picture, and of the mosaic itself [m]. */
  readonly cellM: number;
  readonly cellFullM: number;
}

/** Finds with their pictures as PNG, by place in the folder. */
export interface ReportFinds {
  readonly file: FindsFile;
  readonly chips: ReadonlyMap<string, Uint8Array>;
}

/** Where the boat went, in time order. Shape of every column: [n]. A row that is not finite, or a jump, breaks the line. */
export interface ReportTrack {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** 1 where the position is set aside as a jump; left out: none is. */
  readonly jump?: ArrayLike<number>;
}

/** Shape of every column: [rows * cols] row-major, row 0 = north; NaN is no data. */
export interface ReportSurface {
  readonly grid: RasterGrid;
  /** Depth below datum, positive down [m]. */
  readonly depthM: Float32Array;
  /** 95 % [m]. */
  readonly uncertaintyM: Float32Array;
  /** Soundings in the cell; 0 or NaN where the cell was filled from its neighbours. */
  readonly count: ArrayLike<number>;
}

export interface ReportContour {
  readonly depthM: number;
  readonly line: Polyline;
}

export interface ReportGap {
  readonly number: number;
  readonly areaM2: number;
  /** Widest circle that fits, or NaN where unknown [m]. */
  readonly widthM: number;
  readonly polygon: Polygon;
}

export interface ReportLine {
  readonly number: number;
  readonly kind: 'main' | 'cross' | 'fill-in';
  readonly headingDeg: number;
  readonly lengthM: number;
  readonly line: Polyline;
}

/** Differences where lines cross, A run first: depth on line B less depth on line A [m]. */
export interface ReportCrossings {
  readonly pairs: readonly { readonly lineA: number; readonly lineB: number; readonly count: number; readonly meanM: number; readonly p95M: number }[];
  readonly points: readonly { readonly xM: number; readonly yM: number; readonly differenceM: number; readonly lineA: number; readonly lineB: number }[];
}

/** Heights above the survey datum. Shape: [n]. */
export interface ReportWaterLevel {
  readonly timeS: Float64Array;
  readonly levelM: ArrayLike<number>;
  /** In words, e.g. `observed series water/level.csv`. */
  readonly label: string;
}

export interface ReportVariation {
  readonly variationDeg: number;
  /** Day it holds for, `2026-05-13`. */
  readonly date: string;
  /** e.g. `World Magnetic Model 2025`, `set by hand`. */
  readonly source: string;
}

export interface ReportSource {
  /** What it is to the survey: `water level series`. */
  readonly role: string;
  /** Path in the survey folder. */
  readonly path: string;
  readonly bytes: number;
  readonly sha256: string;
}

export interface ReportMade {
  readonly step: string;
  readonly version: string;
  readonly inputs: readonly { readonly path: string; readonly sha256: string }[];
  readonly outputs: readonly { readonly path: string; readonly sha256: string }[];
}
