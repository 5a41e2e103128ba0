/**
 * The corrections a sounding goes through, in their order. Vertical ones are metres added on the way from the instrument's
 * depth to the depth below datum; horizontal ones are metres the place is moved by, along and across the heading.
 */
export const CORRECTIONS = [
  { column: 'referenceM', label: 'to the transducer', switch: null, horizontal: false },
  { column: 'soundSpeedM', label: 'sound speed', switch: 'soundSpeed', horizontal: false },
  { column: 'beamTiltM', label: 'beam off the vertical', switch: 'beamTilt', horizontal: false },
  { column: 'draftM', label: 'draft at rest', switch: 'draft', horizontal: false },
  { column: 'squatM', label: 'squat', switch: 'squat', horizontal: false },
  { column: 'heaveM', label: 'heave', switch: 'heave', horizontal: false },
  { column: 'leverArmM', label: 'lever arms, rolled and pitched', switch: 'leverArms', horizontal: false },
  { column: 'waterLevelM', label: 'water level', switch: 'waterLevel', horizontal: false },
  { column: 'clockM', label: 'clock offset (water level at the right time)', switch: 'clock', horizontal: false },
  { column: 'slopeM', label: 'slope under the beam', switch: 'slope', horizontal: false },
  { column: 'latencyAlongM', label: 'latency, along the heading', switch: 'latency', horizontal: true },
  { column: 'latencyAcrossM', label: 'latency, across the heading', switch: 'latency', horizontal: true },
  { column: 'leverArmAlongM', label: 'lever arms, along the heading', switch: 'leverArms', horizontal: true },
  { column: 'leverArmAcrossM', label: 'lever arms, across the heading', switch: 'leverArms', horizontal: true },
  { column: 'beamTiltAlongM', label: 'beam off the vertical, along the heading', switch: 'beamTilt', horizontal: true },
  { column: 'beamTiltAcrossM', label: 'beam off the vertical, across the heading', switch: 'beamTilt', horizontal: true },
] as const;

export type CorrectionColumn = (typeof CORRECTIONS)[number]['column'];

/** The corrections that can be switched; `slope` follows `sounder.slopeCorrection`. */
export type CorrectionSwitch = Exclude<(typeof CORRECTIONS)[number]['switch'], null>;

/** Whether each correction is applied. */
export type CorrectionSwitches = Readonly<Record<CorrectionSwitch, boolean>>;

export const ALL_ON: CorrectionSwitches = {
  soundSpeed: true, beamTilt: true, draft: true, squat: true, heave: true, leverArms: true, waterLevel: true, clock: true, slope: true, latency: true,
};

/**
 * What each correction came to for each sounding [m]; where it is switched off, what it would have come to, and it is then no
 * part of the depth. 0 where there is nothing to correct by; water level NaN where it is not known. Shape of every column: [n].
 */
export type CorrectionCurves = Readonly<Record<CorrectionColumn, Float32Array>>;

/** Curves of zeros. */
export function emptyCurves(n: number): CorrectionCurves {
  return Object.fromEntries(CORRECTIONS.map(({ column }) => [column, new Float32Array(n)])) as unknown as CorrectionCurves;
}

/** Whether a column is part of the depth or place; the clock's goes with the water level it corrects. */
export function isOn(on: CorrectionSwitches, column: CorrectionColumn): boolean {
  if (column === 'clockM') return on.clock && on.waterLevel;
  const name = CORRECTIONS.find((one) => one.column === column)!.switch;
  return name === null || on[name];
}

/** One correction in figures, over the soundings asked for. */
export interface CorrectionFigures {
  readonly column: CorrectionColumn;
  readonly label: string;
  readonly on: boolean;
  readonly horizontal: boolean;
  /** What it adds at least and at most [m]; NaN where there is no sounding. */
  readonly leastM: number;
  readonly mostM: number;
}

/** What each correction adds, over the soundings of reason 0. */
export function correctionFigures(curves: CorrectionCurves, on: CorrectionSwitches, reason: Uint8Array): CorrectionFigures[] {
  return CORRECTIONS.map(({ column, label, horizontal }) => {
    const values = curves[column];
    let leastM = Infinity;
    let mostM = -Infinity;
    for (let i = 0; i < values.length; i++) {
      if (reason[i] !== 0 || Number.isNaN(values[i]!)) continue;
      leastM = Math.min(leastM, values[i]!);
      mostM = Math.max(mostM, values[i]!);
    }
    const known = mostM >= leastM;
    return { column, label, on: isOn(on, column), horizontal, leastM: known ? leastM : NaN, mostM: known ? mostM : NaN };
  });
}
