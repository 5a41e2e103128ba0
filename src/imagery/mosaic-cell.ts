/** What the choice of a mosaic's cell hangs on [m]. */
export interface PictureGrain {
  /** Median way from ping to ping. */
  readonly pingSpacingM: number;
  /** What the beam covers along the track at a third of the range: Rs phi. */
  readonly footprintM: number;
  /** What one sample covers across the track, half way out. */
  readonly sampleM: number;
}

export interface CellChoice {
  readonly cellM: number;
  readonly why: string;
}

const NICE_M = [0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1, 2, 5, 10, 20] as const;

/**
 * The cell of a mosaic: no finer than what the pings can show, in usual steps, and no more cells than can be handled.
 *
 * @param areaM2 of the box the mosaic fills
 * @param mostCells of that box
 */
export function chooseCell({ pingSpacingM, footprintM, sampleM }: PictureGrain, areaM2: number, mostCells: number): CellChoice {
  const grains = [
    { value: pingSpacingM, words: `pings are ${short(pingSpacingM)} m apart` },
    { value: footprintM, words: `the beam covers ${short(footprintM)} m along the track at a third of the range` },
    { value: 2 * sampleM, words: `two samples cover ${short(2 * sampleM)} m across it` },
  ].filter(({ value }) => Number.isFinite(value) && value > 0);
  const grain = grains.reduce((most, { value }) => Math.max(most, value), 0);
  // The usual step next below the grain, or a little above it.
  const fine = [...NICE_M].reverse().find((step) => step <= 1.1 * grain) ?? NICE_M[0];
  const fits = NICE_M.find((step) => step >= fine && areaM2 / (step * step) <= mostCells) ?? NICE_M[NICE_M.length - 1]!;
  const words = grains.map((each) => each.words).join(', ');
  return fits > fine ? { cellM: fits, why: `${fits} m: ${fine} m would suit the pings (${words}), but not so large a picture` } : { cellM: fits, why: `${fits} m: ${words}` };
}

function short(value: number): string {
  return value >= 1 ? value.toFixed(1) : value.toFixed(2);
}
