/**
 * When a running angle comes to an angle, from a line through the values within a band of it.
 *
 * @param timeS rising, [n]
 * @param angleDeg running angle, [n]
 * @param targetDeg looked for from the first value on, coming from the side of the first value
 * @param bandDeg half width of the band
 * @returns time and its standard error; null where it never gets there
 */
export function timeAtAngle(timeS: ArrayLike<number>, angleDeg: ArrayLike<number>, targetDeg: number, bandDeg: number): { timeS: number; sigmaS: number } | null {
  const n = angleDeg.length;
  let first = 0;
  while (first < n && Number.isNaN(angleDeg[first]!)) first++;
  const rising = targetDeg >= angleDeg[first]!;
  let at = -1;
  for (let i = first; i < n && at < 0; i++) if (rising ? angleDeg[i]! >= targetDeg : angleDeg[i]! <= targetDeg) at = i;
  if (at <= 0) return null;
  let start = at;
  while (start > 0 && Math.abs(angleDeg[start - 1]! - targetDeg) <= bandDeg) start--;
  let end = at;
  while (end < n && Math.abs(angleDeg[end]! - targetDeg) <= bandDeg) end++;
  let rows = 0;
  let st = 0;
  let sa = 0;
  if (end - start < 3) {
    start = at - 1;
    end = at + 1;
  }
  for (let i = start; i < end; i++) {
    if (Number.isNaN(angleDeg[i]!)) continue;
    rows++;
    st += timeS[i]!;
    sa += angleDeg[i]! - targetDeg;
  }
  const mt = st / rows;
  const ma = sa / rows;
  let tt = 0;
  let ta = 0;
  for (let i = start; i < end; i++) {
    if (Number.isNaN(angleDeg[i]!)) continue;
    tt += (timeS[i]! - mt) ** 2;
    ta += (timeS[i]! - mt) * (angleDeg[i]! - targetDeg - ma);
  }
  const rate = ta / tt;
  if (!(Math.abs(rate) > 0)) return null;
  let rest = 0;
  for (let i = start; i < end; i++) if (!Number.isNaN(angleDeg[i]!)) rest += (angleDeg[i]! - targetDeg - ma - rate * (timeS[i]! - mt)) ** 2;
  const time = mt - ma / rate;
  const step = (timeS[at]! - timeS[at - 1]!) / Math.sqrt(12);
  const sigmaAngle = rows > 2 ? Math.sqrt((rest / (rows - 2)) * (1 / rows + (time - mt) ** 2 / tt)) : Math.abs(rate) * step;
  return { timeS: time, sigmaS: sigmaAngle / Math.abs(rate) };
}
