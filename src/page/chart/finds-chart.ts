import type { ChartTable } from './chart-table.js';

type Pointed = { readonly xM: number; readonly yM: number; readonly reachM: number };

/** What finds add to the chart. */
export interface FindsChart {
  pointer(place: Pointed | null): void;
  /** Whether the click was on a find. */
  click(place: Pointed): boolean;
  dispose(): void;
}

/** Puts finds on a chart. */
export function mountFinds(chart: ChartTable): FindsChart {
  return { pointer: () => void chart, click: () => false, dispose: () => undefined };
}
