/** One shortest way between two poses for a boat that turns no tighter than a radius: three parts, each L, R or S. */
export interface DubinsWay {
  readonly word: 'LSL' | 'RSR' | 'LSR' | 'RSL' | 'RLR' | 'LRL';
  /** Length of each part over the radius: angles for turns [rad]. */
  readonly parts: readonly [number, number, number];
  readonly lengthM: number;
}

const TURN = 2 * Math.PI;
const wrap = (angle: number): number => ((angle % TURN) + TURN) % TURN;

/**
 * The shortest way from one pose to another with turns of a radius, forwards only.
 *
 * @param dxM from the first place to the second, in the frame [m]
 * @param fromRad direction it leaves in, counter-clockwise from east [rad]; toRad the direction it arrives in
 * @throws RangeError for a radius that is not positive
 * Source: Dubins (1957), Am. J. Math. 79, 497-516; formulas of Shkel & Lumelsky (2001), Robotics and Autonomous Systems 34,
 * 179-202 (from memory; held against their end points). Check: half a circle between lines 2 r apart.
 */
export function dubinsWay(dxM: number, dyM: number, fromRad: number, toRad: number, radiusM: number): DubinsWay {
  if (!(radiusM > 0)) throw new RangeError(`radiusM ${radiusM}: expected more than 0`);
  const d = Math.hypot(dxM, dyM) / radiusM;
  const theta = Math.atan2(dyM, dxM);
  const a = wrap(fromRad - theta);
  const b = wrap(toRad - theta);
  const sa = Math.sin(a);
  const sb = Math.sin(b);
  const ca = Math.cos(a);
  const cb = Math.cos(b);
  const cab = Math.cos(a - b);
  let best: DubinsWay | null = null;
  const offer = (word: DubinsWay['word'], t: number, p: number, q: number): void => {
    // A turn of all but nothing less than a full circle is rounding.
    const tidy = (angle: number): number => (wrap(angle) > TURN - 1e-7 ? 0 : wrap(angle));
    const parts: [number, number, number] = [tidy(t), word[1] === 'S' ? p : tidy(p), tidy(q)];
    const lengthM = (parts[0] + parts[1] + parts[2]) * radiusM;
    if (best === null || lengthM < best.lengthM) best = { word, parts, lengthM };
  };
  const lsl = 2 + d * d - 2 * cab + 2 * d * (sa - sb);
  if (lsl >= -1e-9) {
    const at = Math.atan2(cb - ca, d + sa - sb);
    offer('LSL', at - a, Math.sqrt(Math.max(0, lsl)), b - at);
  }
  const rsr = 2 + d * d - 2 * cab + 2 * d * (sb - sa);
  if (rsr >= -1e-9) {
    const at = Math.atan2(ca - cb, d - sa + sb);
    offer('RSR', a - at, Math.sqrt(Math.max(0, rsr)), at - b);
  }
  const lsr = -2 + d * d + 2 * cab + 2 * d * (sa + sb);
  if (lsr >= 0) {
    const p = Math.sqrt(lsr);
    const at = Math.atan2(-ca - cb, d + sa + sb) - Math.atan2(-2, p);
    offer('LSR', at - a, p, at - b);
  }
  const rsl = -2 + d * d + 2 * cab - 2 * d * (sa + sb);
  if (rsl >= 0) {
    const p = Math.sqrt(rsl);
    const at = Math.atan2(ca + cb, d - sa - sb) - Math.atan2(2, p);
    offer('RSL', a - at, p, b - at);
  }
  const rlr = (6 - d * d + 2 * cab + 2 * d * (sa - sb)) / 8;
  if (Math.abs(rlr) <= 1) {
    const p = wrap(TURN - Math.acos(rlr));
    const t = a - Math.atan2(ca - cb, d - sa + sb) + p / 2;
    offer('RLR', t, p, a - b - t + p);
  }
  const lrl = (6 - d * d + 2 * cab + 2 * d * (sb - sa)) / 8;
  if (Math.abs(lrl) <= 1) {
    const p = wrap(TURN - Math.acos(lrl));
    const t = -a + Math.atan2(-ca + cb, d + sa - sb) + p / 2;
    offer('LRL', t, p, b - a - t + p);
  }
  return best!;
}

/** The way as vertices, a turn in chords of at most `stepRad`; begins and ends at the given places. [x0, y0, ...] */
export function dubinsPath(ax: number, ay: number, bx: number, by: number, fromRad: number, way: DubinsWay, radiusM: number, stepRad = Math.PI / 12): Float64Array {
  const out: number[] = [ax, ay];
  let x = ax;
  let y = ay;
  let heading = fromRad;
  way.parts.forEach((part, i) => {
    const kind = way.word[i]!;
    if (!(part > 1e-9)) return;
    if (kind === 'S') {
      x += Math.cos(heading) * part * radiusM;
      y += Math.sin(heading) * part * radiusM;
      out.push(x, y);
      return;
    }
    const side = kind === 'L' ? 1 : -1;
    const chords = Math.max(1, Math.ceil(part / stepRad));
    const cx = x - side * Math.sin(heading) * radiusM;
    const cy = y + side * Math.cos(heading) * radiusM;
    for (let k = 0; k < chords; k++) {
      heading += (side * part) / chords;
      x = cx + side * Math.sin(heading) * radiusM;
      y = cy - side * Math.cos(heading) * radiusM;
      out.push(x, y);
    }
  });
  out[out.length - 2] = bx;
  out[out.length - 1] = by;
  return Float64Array.from(out);
}
