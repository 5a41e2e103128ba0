/** Extra draft under way by speed through the water. */
export type SquatCurve =
  /** k v^2: how a displacement hull sinks at moderate speed. */
  | { readonly kind: 'speed-square'; readonly metresPerMps2: number }
  /** As measured; straight between the points, and beyond them that of the nearest. */
  | { readonly kind: 'table'; readonly points: readonly { readonly speedMps: number; readonly squatM: number }[] };

/**
 * Squat at a speed [m]; NaN for a speed that is not known.
 *
 * @param speedMps through the water where it is logged, else over ground
 * Source: k v^2 is the form of IHO C-13 (2005), 2.5.2 for settlement and squat; k and tables from the crew's own trials.
 */
export function squatAt(curve: SquatCurve, speedMps: number): number {
  if (curve.kind === 'speed-square') return curve.metresPerMps2 * speedMps * speedMps;
  const { points } = curve;
  if (Number.isNaN(speedMps)) return NaN;
  let before = points[0]!;
  if (speedMps <= before.speedMps) return before.squatM;
  for (const after of points) {
    if (after.speedMps >= speedMps) {
      const share = after.speedMps === before.speedMps ? 0 : (speedMps - before.speedMps) / (after.speedMps - before.speedMps);
      return before.squatM + share * (after.squatM - before.squatM);
    }
    before = after;
  }
  return before.squatM;
}

/** @throws RangeError for a coefficient that is no number, an empty table, or speeds that do not rise */
export function checkSquatCurve(curve: SquatCurve): void {
  if (curve.kind === 'speed-square') {
    if (!Number.isFinite(curve.metresPerMps2)) throw new RangeError(`metresPerMps2 ${curve.metresPerMps2}: expected a number`);
    return;
  }
  if (curve.points.length === 0) throw new RangeError('squat table: expected at least one point');
  curve.points.forEach(({ speedMps, squatM }, i) => {
    if (!(speedMps >= 0) || !Number.isFinite(squatM)) throw new RangeError(`squat table, point ${i + 1}: expected a speed of 0 or more and a squat, found ${speedMps}, ${squatM}`);
    if (i > 0 && !(speedMps > curve.points[i - 1]!.speedMps)) throw new RangeError(`squat table, point ${i + 1}: ${speedMps} m/s after ${curve.points[i - 1]!.speedMps}: expected faster`);
  });
}
