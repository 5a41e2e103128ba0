import { boxesOverlap, chartGround, polygonsBox, type ChartedGround } from './chart-frame.js';
import { hasDepths, PAPERS, planPaper, type PaperChoice, type PaperName, type PaperPlan } from './chart-paper.js';
import { niceAbove } from './nice-steps.js';

/** How the chart would lie on paper; null where there is nothing to draw, or where it would take too many sheets. */
export function planPaperChart(input: ChartedGround, choice: PaperChoice): PaperPlan | null {
  const ground = chartGround(input);
  if (ground === null) return null;
  const { surface } = input;
  const areaBox = polygonsBox(input.area);
  return planPaper(ground, choice, (box) => (surface === null ? areaBox !== null && boxesOverlap(areaBox, box) : hasDepths(surface.grid, surface.depthM, box)));
}

/** The largest scale of 1, 2 or 5 times a power of ten, smaller than one asked for, at which the chart does not take too many sheets. */
export function nextScale(input: ChartedGround, { paper, scale }: PaperChoice): number {
  let next = niceAbove((scale ?? 100) * 1.01);
  for (let turn = 0; turn < 20 && planPaperChart(input, { paper, scale: next }) === null; turn++) next = niceAbove(next * 1.01);
  return next;
}

/** For the paper asked for and each larger one, the largest usual scale that fits; larger paper only where it allows a larger scale. */
export function fittingScales(input: ChartedGround, choice: PaperChoice): { readonly paper: PaperName; readonly scale: number }[] {
  const names = Object.keys(PAPERS) as PaperName[];
  const from = choice.paper === 'auto' ? names.slice(-1) : names.slice(names.indexOf(choice.paper));
  const fitting: { paper: PaperName; scale: number }[] = [];
  for (const paper of from) {
    const scale = nextScale(input, { paper, scale: choice.scale });
    if (fitting.every((one) => scale < one.scale)) fitting.push({ paper, scale });
  }
  return fitting;
}
