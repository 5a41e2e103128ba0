/** Sound speed against depth below the surface: straight between the nodes, constant beyond the last. */
export interface SoundSpeedProfile {
  /** Ascending from 0. Shape [n] [m]. */
  readonly depthM: Float64Array;
  /** Shape [n] [m/s]. */
  readonly soundSpeedMps: Float64Array;
}

/**
 * A profile of Hollin Sound in early summer: a warm layer of 3 m, a thermocline to 7.5 m, cool water below. Invented.
 * @param offsetMps at all depths; @param warmerMps of the warm layer alone, as the day goes on
 */
export function hollinProfile(offsetMps: number, warmerMps = 0): SoundSpeedProfile {
  const depthM = Float64Array.from({ length: 41 }, (_, i) => i * 0.5);
  const soundSpeedMps = depthM.map((depth) => {
    const share = Math.min(1, Math.max(0, (depth - 3) / 4.5));
    const warm = 1 - share * share * (3 - 2 * share);
    return Math.round((1497.2 + (13.4 + warmerMps) * warm + 0.0163 * depth) * 100) / 100 + offsetMps;
  });
  return { depthM, soundSpeedMps };
}

/**
 * One-way time of a vertical ray between two depths below the surface.
 *
 * In a layer whose speed is straight in depth with gradient g the time is ln(c2 / c1) / g, from the integral of dz / c.
 *
 * @returns a function of the upper and the lower depth [m] to [s]; negative when the first is the deeper
 *
 * Source: integral of the definition; the same closed form is behind IHO C-13 eq. 3.18.
 */
export function createTravelTime(profile: SoundSpeedProfile): (fromDepthM: number, toDepthM: number) => number {
  const { depthM, soundSpeedMps } = profile;
  const n = depthM.length;
  if (n < 1 || n !== soundSpeedMps.length) throw new RangeError(`profile: ${n} depths and ${soundSpeedMps.length} speeds; expected as many, one at least`);
  // Time from the surface to each node.
  const nodeS = new Float64Array(n);
  for (let i = 1; i < n; i++) {
    if (!(depthM[i]! > depthM[i - 1]!)) throw new RangeError(`profile: depth ${depthM[i]} after ${depthM[i - 1]}; expected ascending`);
    nodeS[i] = nodeS[i - 1]! + layerTimeS(depthM[i]! - depthM[i - 1]!, soundSpeedMps[i - 1]!, soundSpeedMps[i]!);
  }
  const fromSurfaceS = (depth: number): number => {
    if (depth <= depthM[0]!) return (depth - depthM[0]!) / soundSpeedMps[0]!;
    if (depth >= depthM[n - 1]!) return nodeS[n - 1]! + (depth - depthM[n - 1]!) / soundSpeedMps[n - 1]!;
    let i = 0;
    while (depthM[i + 1]! < depth) i++;
    const thicknessM = depthM[i + 1]! - depthM[i]!;
    const into = depth - depthM[i]!;
    const speed = soundSpeedMps[i]! + ((soundSpeedMps[i + 1]! - soundSpeedMps[i]!) * into) / thicknessM;
    return nodeS[i]! + layerTimeS(into, soundSpeedMps[i]!, speed);
  };
  return (fromDepthM, toDepthM) => fromSurfaceS(toDepthM) - fromSurfaceS(fromDepthM);
}

/** Time through a layer whose speed goes straight from one value to another [s]. */
function layerTimeS(thicknessM: number, topMps: number, bottomMps: number): number {
  const ratio = (bottomMps - topMps) / topMps;
  // ln(1 + r) / r loses digits as r goes to 0; log1p does not, but 0 / 0 must be avoided.
  return ratio === 0 ? thicknessM / topMps : ((thicknessM / topMps) * Math.log1p(ratio)) / ratio;
}

/** How far the day's warming has got, 0 at the start and 1 after the span: nearly even, a little faster in the middle. */
function warming(timeS: number, startS: number, spanS: number): number {
  const share = Math.min(1, Math.max(0, (timeS - startS) / spanS));
  return share - 0.05 * Math.sin(2 * Math.PI * share);
}

/** The true water of a day that warms by `changeMps` over the span: its profile at a time, in steps of a hundredth of the span. */
export function warmingWater(offsetMps: number, changeMps: number, startS: number, spanS: number): { profileAt(timeS: number): SoundSpeedProfile; travelTimeS(fromDepthM: number, toDepthM: number, timeS: number): number } {
  const steps = new Map<number, (fromDepthM: number, toDepthM: number) => number>();
  const profileAt = (timeS: number): SoundSpeedProfile => hollinProfile(offsetMps, changeMps * warming(timeS, startS, spanS));
  return {
    profileAt,
    travelTimeS(fromDepthM, toDepthM, timeS) {
      const step = Math.min(100, Math.max(0, Math.round((100 * (timeS - startS)) / spanS)));
      let travel = steps.get(step);
      if (travel === undefined) {
        travel = createTravelTime(profileAt(startS + (step * spanS) / 100));
        steps.set(step, travel);
      }
      return travel(fromDepthM, toDepthM);
    },
  };
}

/** water/sound-speed.csv: columns `depthM` (below the surface) and `soundSpeedMps`. */
export function soundSpeedCsv(profile: SoundSpeedProfile): string {
  const rows = Array.from(profile.depthM, (depth, i) => `${depth.toFixed(1)},${profile.soundSpeedMps[i]!.toFixed(2)}`);
  return `depthM,soundSpeedMps\n${rows.join('\n')}\n`;
}
