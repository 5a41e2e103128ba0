import { UseError } from '../base/errors.js';
import type { HypothesisDecision } from '../depths/hypotheses-choose.js';
import { isDoubtful } from '../depths/hypothesis-cells.js';
import type { SoundingSurface } from '../depths/surface.js';
import { writeParquet } from '../formats/parquet-write.js';
import type { Frame } from '../geo/frame.js';
import { makeAtomic } from './atomic-file.js';
import type { HypothesisChoice, JournalEntry, SurfaceSummary } from './summary.js';

/** Every depth of the cells that have several. */
export const HYPOTHESES_PLACE = 'derived/hypotheses.parquet';

type Hypotheses = NonNullable<SoundingSurface['hypotheses']>;

/** @throws UseError for a place or a depth that is none */
export function checkHypothesisChoice({ latDeg, lonDeg, depthM }: HypothesisChoice): void {
  if (!(Math.abs(latDeg) <= 90 && Math.abs(lonDeg) <= 180 && Number.isFinite(depthM))) {
    throw new UseError(`depth chosen by hand: expected a latitude, a longitude and a depth, found ${latDeg}, ${lonDeg} and ${depthM}`, { path: 'hypothesis' });
  }
}

/** The choices by hand that stand, in the survey frame, in the order they were made. */
export function hypothesisDecisionsOf(decisions: readonly JournalEntry[], frame: Frame): HypothesisDecision[] {
  return decisions.flatMap((entry) => {
    if (entry.kind !== 'hypothesis') return [];
    const [xM, yM] = frame.toFrame(entry.latDeg, entry.lonDeg);
    return [{ xM, yM, depthM: entry.depthM }];
  });
}

/** Bands of the surface's raster beside the first three: how many depths a measured cell has, and how sure the one drawn is. */
export function hypothesisBands({ hypotheses, count }: SoundingSurface): { readonly name: string; readonly unit: string; readonly values: Float32Array }[] {
  if (hypotheses === undefined) return [];
  const { choice } = hypotheses;
  return [
    { name: 'hypotheses', unit: '1', values: Float32Array.from(choice.hypotheses, (n, cell) => (count[cell]! > 0 ? n : NaN)) },
    { name: 'strength', unit: '1', values: choice.strength },
  ];
}

export function hypothesisFigures({ choice }: Hypotheses): NonNullable<SurfaceSummary['hypotheses']> {
  let [several, doubtful, byHand] = [0, 0, 0];
  for (let cell = 0; cell < choice.hypotheses.length; cell++) {
    if (choice.byHand[cell] !== 0) byHand++;
    if (choice.hypotheses[cell]! < 2) continue;
    several++;
    if (isDoubtful(choice.strength[cell]!, choice.byHand[cell] !== 0)) doubtful++;
  }
  return { several, doubtful, byHand, lost: choice.lost.length };
}

/** Writes derived/hypotheses.parquet: one row a depth, cell by cell from the north-west, for cells that have several. */
export function writeHypotheses(target: string, { tracked, choice }: Hypotheses, frame: Frame): Promise<{ sha256: string; bytes: number }> {
  const { grid, start } = tracked;
  const rows: number[] = [];
  const cellOf: number[] = [];
  for (let cell = 0; cell < choice.hypotheses.length; cell++) {
    for (let k = start[cell]!; choice.hypotheses[cell]! > 1 && k < start[cell + 1]!; k++) {
      rows.push(k);
      cellOf.push(cell);
    }
  }
  const xM = Float64Array.from(cellOf, (cell) => grid.westM + ((cell % grid.cols) + 0.5) * grid.cellM);
  const yM = Float64Array.from(cellOf, (cell) => grid.northM - (Math.floor(cell / grid.cols) + 0.5) * grid.cellM);
  const places = rows.map((_, at) => frame.toGeographic(xM[at]!, yM[at]!));
  return makeAtomic(target, (sink) =>
    writeParquet(
      sink,
      [
        { name: 'latDeg', data: Float64Array.from(places, ([lat]) => lat) },
        { name: 'lonDeg', data: Float64Array.from(places, ([, lon]) => lon) },
        { name: 'xM', data: xM },
        { name: 'yM', data: yM },
        { name: 'row', data: Uint32Array.from(cellOf, (cell) => Math.floor(cell / grid.cols)) },
        { name: 'col', data: Uint32Array.from(cellOf, (cell) => cell % grid.cols) },
        { name: 'depthM', data: Float64Array.from(rows, (k) => tracked.depthM[k]!) },
        { name: 'uncertaintyM', data: Float64Array.from(rows, (k) => tracked.uncertaintyM[k]!) },
        { name: 'soundings', data: Uint32Array.from(rows, (k) => tracked.soundings[k]!) },
        { name: 'stands', data: Uint8Array.from(rows, (k, at) => (choice.chosen[cellOf[at]!] === k ? 1 : 0)) },
        { name: 'byHand', data: Uint8Array.from(cellOf, (cell) => choice.byHand[cell]!) },
        { name: 'strength', data: Float32Array.from(cellOf, (cell) => choice.strength[cell]!) },
      ],
      { metadata: { caution: 'not for navigation' } },
    ),
  );
}
