/** A plot as data: drawn by `drawPlot`, told as CSV by `plotCsv`. */
export interface Plot {
  /** Of the file it is saved as. */
  readonly name: string;
  readonly title: string;
  /** What the styles mean and what is odd, in plain words. */
  readonly caption: string;
  readonly x: PlotAxis;
  readonly y: PlotAxis;
  /** Both axes at one scale: the plot is a place or a velocity. */
  readonly equal: boolean;
  readonly series: readonly PlotSeries[];
  readonly marks: readonly PlotMark[];
}

export interface PlotAxis {
  readonly label: string;
  /** Empty for none. */
  readonly unit: string;
  /** Column of the CSV, with its unit. */
  readonly column: string;
  /** Values the axis has to hold besides those of the series. */
  readonly holds?: readonly number[];
  /** Grows downwards, as depths do. */
  readonly down?: boolean;
}

/** Points of a plot. Shape of each column: [n]; NaN breaks a line. */
export interface PlotSeries {
  readonly name: string;
  readonly style: 'line' | 'thin' | 'dashed' | 'dotted' | 'dots' | 'rings' | 'arrows';
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** 95 % of y; drawn as bars on points, as a band about a line. */
  readonly half95?: Float64Array;
  /** In the accent: what the trial at hand is. */
  readonly chosen?: boolean;
  /** Printed at its last point. */
  readonly label?: string;
}

/** A length or a place named on the plot. */
export interface PlotMark {
  readonly from: readonly [number, number];
  readonly to: readonly [number, number];
  readonly text: string;
  /** `span`: a line with ticks at both ends; `arrow`: head at its end; `guide`: thin and dotted; `point`: a cross. */
  readonly style: 'span' | 'arrow' | 'guide' | 'point';
}

/** Which plot is wanted. */
export type PlotWanted = { readonly kind: 'trial'; readonly trial: string } | { readonly kind: 'velocity' | 'command' | 'power'; readonly trial?: string };
