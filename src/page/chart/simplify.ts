/**
 * The vertices of a line that matter at a tolerance (Douglas & Peucker 1973), without recursion.
 *
 * @param line [x0, y0, x1, y1, ...] in the survey frame [m]
 * @param toleranceM no vertex left out lies further than this from the line kept [m]
 * @returns a new line; the first and last vertex are kept
 */
export function simplifyLine(line: Float64Array, toleranceM: number): Float64Array {
  const n = line.length / 2;
  if (n <= 2) return line.slice();
  const keep = new Uint8Array(n);
  keep[0] = 1;
  keep[n - 1] = 1;
  const stack: number[] = [0, n - 1];
  const limit = toleranceM * toleranceM;
  while (stack.length > 0) {
    const last = stack.pop() as number;
    const first = stack.pop() as number;
    const ax = line[2 * first] as number;
    const ay = line[2 * first + 1] as number;
    const dx = (line[2 * last] as number) - ax;
    const dy = (line[2 * last + 1] as number) - ay;
    const length2 = dx * dx + dy * dy;
    let worst = limit;
    let at = -1;
    for (let i = first + 1; i < last; i++) {
      const px = (line[2 * i] as number) - ax;
      const py = (line[2 * i + 1] as number) - ay;
      const t = length2 === 0 ? 0 : Math.min(1, Math.max(0, (px * dx + py * dy) / length2));
      const ex = px - t * dx;
      const ey = py - t * dy;
      const distance2 = ex * ex + ey * ey;
      if (distance2 > worst) {
        worst = distance2;
        at = i;
      }
    }
    if (at >= 0) {
      keep[at] = 1;
      stack.push(first, at, at, last);
    }
  }
  let kept = 0;
  for (let i = 0; i < n; i++) kept += keep[i] as number;
  const out = new Float64Array(kept * 2);
  let k = 0;
  for (let i = 0; i < n; i++) {
    if (keep[i] === 0) continue;
    out[k++] = line[2 * i] as number;
    out[k++] = line[2 * i + 1] as number;
  }
  return out;
}

/**
 * Places for upright labels along a line: one in its middle, more every `everyM`, each where the line runs straight enough.
 * A closed line shorter than twice a label's width gets none.
 *
 * @returns [x0, y0, x1, y1, ...] on the line [m]
 */
export function labelPlaces(line: Float64Array, everyM: number, widthM: number): Float64Array {
  const n = line.length / 2;
  const along = new Float64Array(n);
  for (let i = 1; i < n; i++) {
    along[i] = (along[i - 1] as number) + Math.hypot((line[2 * i] as number) - (line[2 * i - 2] as number), (line[2 * i + 1] as number) - (line[2 * i - 1] as number));
  }
  const length = along[n - 1] ?? 0;
  if (!(length > 3 * widthM)) return new Float64Array(0);
  const count = Math.max(1, Math.round(length / everyM));
  const out = new Float64Array(count * 2);
  let i = 1;
  for (let k = 0; k < count; k++) {
    const at = ((k + 0.5) * length) / count;
    while (i < n - 1 && (along[i] as number) < at) i++;
    const span = (along[i] as number) - (along[i - 1] as number);
    const t = span === 0 ? 0 : (at - (along[i - 1] as number)) / span;
    out[2 * k] = (line[2 * i - 2] as number) + t * ((line[2 * i] as number) - (line[2 * i - 2] as number));
    out[2 * k + 1] = (line[2 * i - 1] as number) + t * ((line[2 * i + 1] as number) - (line[2 * i - 1] as number));
  }
  return out;
}

/**
 * A track cut into lines wherever the boat was out of sight for too long, and at every position that jumped.
 *
 * @param jump 1 where a position is set aside as a jump
 * @param maxGapS a longer silence starts a new line [s]
 */
export function trackLines(timeS: ArrayLike<number>, xM: ArrayLike<number>, yM: ArrayLike<number>, jump: ArrayLike<number>, maxGapS: number): Float64Array[] {
  const lines: Float64Array[] = [];
  let vertices: number[] = [];
  let lastS = NaN;
  const end = () => {
    if (vertices.length >= 4) lines.push(Float64Array.from(vertices));
    vertices = [];
  };
  for (let i = 0; i < timeS.length; i++) {
    const x = xM[i] as number;
    const y = yM[i] as number;
    if (jump[i] === 1) end();
    if (jump[i] === 1 || !Number.isFinite(x) || !Number.isFinite(y)) continue;
    const t = timeS[i] as number;
    if (t - lastS > maxGapS) end();
    lastS = t;
    vertices.push(x, y);
  }
  end();
  return lines;
}
