/** Size, height and place of something on the floor from what a ping picture shows of it, each with one sigma. */

/** What was read off the picture. Slant ranges from the sonar [m]. */
export interface ReadOff {
  /** The echo's start and end, and the shadow's end; NaN where no shadow is seen. */
  readonly slantStartM: number;
  readonly slantEndM: number;
  readonly shadowEndM: number;
  /** How well each of them is read, one sigma [m]. */
  readonly startSigmaM: number;
  readonly endSigmaM: number;
  readonly shadowSigmaM: number;
  /** The echo along the track, from the first ping that shows it to the last [m], one sigma, and the beam's width there, which it is drawn out by. */
  readonly alongM: number;
  readonly alongSigmaM: number;
  readonly beamM: number;
  /** Sonar above the floor [m]. */
  readonly sonarHeightM: number;
  readonly sonarHeightSigmaM: number;
  /** How much higher the floor lies at the shadow's end than at the thing's foot, and one sigma of what of that is not known [m]; 0 where it is level. */
  readonly endRiseM?: number;
  readonly reliefM?: number;
}

/** A value with one sigma. */
export interface Measure {
  readonly value: number;
  readonly sigma: number;
}

/**
 * Height of an object from its shadow: H = S h / (R + S), slant ranges; on a floor that is not level, H = h - (h - z) R / (R + S).
 *
 * The ray over the object's top meets the floor at the shadow's end, R + S away and h - z below the sonar; the top lies R along it.
 *
 * @param shadowStartM slant range to the shadow's start, R, the end of the echo [m]
 * @param shadowEndM slant range to its end, R + S [m]
 * @param sonarHeightM sonar above the floor at the object's foot, h [m]
 * @param endRiseM floor at the shadow's end above that at the foot, z [m]
 * @param sigma one sigma of each; `reliefM` of z [m]
 * @returns value and sigma by first-order propagation; NaN where there is no shadow
 * Source: IHO C-13 (2005) ch. 4; propagation: ISO/IEC Guide 98-3 (GUM, 2008), eq. 10. Check: h 5 m, R 20 m, S 2 m: 0.4545 m.
 */
export function heightFromShadow(shadowStartM: number, shadowEndM: number, sonarHeightM: number, sigma: { readonly startM: number; readonly endM: number; readonly heightM: number; readonly reliefM?: number }, endRiseM = 0): Measure {
  if (!(shadowEndM > shadowStartM)) return { value: NaN, sigma: NaN };
  const reach = shadowStartM / shadowEndM;
  // H = h - (h - z) R / E with E = R + S.
  const endHeightM = sonarHeightM - endRiseM;
  const byStart = -endHeightM / shadowEndM;
  const byEnd = (endHeightM * reach) / shadowEndM;
  return {
    value: sonarHeightM - endHeightM * reach,
    sigma: Math.hypot(byStart * sigma.startM, byEnd * sigma.endM, (1 - reach) * sigma.heightM, reach * (sigma.reliefM ?? 0)),
  };
}

/** Ground range of a point at a height above the floor [m]; 0 where the sonar is nearer than that. */
export function groundOfTopM(slantM: number, sonarHeightM: number, topM: number): number {
  const down = sonarHeightM - topM;
  return Math.sqrt(Math.max(0, slantM * slantM - down * down));
}

export interface Measured {
  /** Across the track: from the foot of its near side to its far edge. */
  readonly width: Measure;
  /** Along the track, the beam's width taken off. */
  readonly length: Measure;
  /** Above the floor; NaN without a shadow. */
  readonly height: Measure;
  /** Ground range of its middle. */
  readonly ground: Measure;
}

/**
 * Size and ground range of what was read off.
 *
 * Its far edge is where the shadow starts, at the object's height; its near side is heard first at the floor or at its top,
 * whichever is nearer to the sonar: the top, for anything with an upright side. The beam draws the echo out along the track:
 * of two widths that add as independent spreads, `length = sqrt(along^2 - beam^2)`, and never less than the pings can tell.
 *
 * Source: slant-range triangle, IHO C-13 (2005) ch. 4; propagation by GUM eq. 10, derivatives by central differences.
 */
export function measure(read: ReadOff): Measured {
  const height = heightFromShadow(read.slantEndM, read.shadowEndM, read.sonarHeightM, { startM: read.endSigmaM, endM: read.shadowSigmaM, heightM: read.sonarHeightSigmaM, ...(read.reliefM === undefined ? {} : { reliefM: read.reliefM }) }, read.endRiseM ?? 0);
  const inputs = [read.slantStartM, read.slantEndM, read.shadowEndM, read.sonarHeightM];
  const sigmas = [read.startSigmaM, read.endSigmaM, read.shadowSigmaM, read.sonarHeightSigmaM];
  const edges = ([start, end, shadowEnd, h]: readonly number[]): [number, number] => {
    const topM = shadowEnd! > end! ? Math.max(0, h! - ((h! - (read.endRiseM ?? 0)) * end!) / shadowEnd!) : 0;
    return [groundOfTopM(start!, h!, topM), groundOfTopM(end!, h!, topM)];
  };
  const widthOf = (values: readonly number[]): number => {
    const [near, far] = edges(values);
    return far - near;
  };
  const middleOf = (values: readonly number[]): number => {
    const [near, far] = edges(values);
    return (near + far) / 2;
  };
  const along = Math.sqrt(Math.max(read.alongM ** 2 - read.beamM ** 2, read.alongSigmaM ** 2));
  return {
    width: { value: Math.max(0, widthOf(inputs)), sigma: propagated(widthOf, inputs, sigmas) },
    length: { value: along, sigma: (Math.max(read.alongM, read.alongSigmaM) / Math.max(along, read.alongSigmaM)) * read.alongSigmaM },
    height,
    ground: { value: middleOf(inputs), sigma: propagated(middleOf, inputs, sigmas) },
  };
}

/** One sigma of a function of independent values. An input that is NaN counts for nothing. */
function propagated(of: (values: readonly number[]) => number, values: readonly number[], sigmas: readonly number[]): number {
  let variance = 0;
  for (let i = 0; i < values.length; i++) {
    if (Number.isNaN(values[i]!)) continue;
    const step = Math.max(1e-4, sigmas[i]! / 2);
    const up = of(values.map((value, k) => (k === i ? value + step : value)));
    const down = of(values.map((value, k) => (k === i ? value - step : value)));
    variance += (((up - down) / (2 * step)) * sigmas[i]!) ** 2;
  }
  return Math.sqrt(variance);
}
