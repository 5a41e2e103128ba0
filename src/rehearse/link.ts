import { budgetLoss, type LinkBudget } from './link-budget.js';
import { breakDistanceM, CLEAR_SHARE, curvatureLossDb, earthBulgeM, freeSpaceLossDb, fresnelRadiusM, knifeEdgeLossDb, wavelengthM } from './link-formulas.js';
import { ObstacleSectors, type Crossings, type LinkObstacle } from './link-obstacles.js';
import { twoRayLossDb, waterReflection, type Polarisation, type WaterSurface } from './link-two-ray.js';

/** The radio link between the base and the boat. Places in the survey frame [m]. */
export interface LinkOptions {
  readonly base: { readonly xM: number; readonly yM: number };
  readonly frequencyMhz: number;
  /** Antennas above the water; the base's changes with the tide [m]. */
  readonly baseHeightM: number;
  readonly boatHeightM: number;
  readonly budget: LinkBudget;
  /** Default vertical: whips. */
  readonly polarisation?: Polarisation;
  /** Default sea water of 15 deg C and salinity 35, flat. */
  readonly water?: WaterSurface;
  readonly obstacles?: readonly LinkObstacle[];
  /** Ground around the base that the mast looks over [m]; default 20. */
  readonly standM?: number;
  /**
   * One sigma of the margin [dB]. Default 5: measured levels over water scatter about two rays by some 4 dB (waves, a rolling
   * antenna), and a rated range is a round number, worth some 3 dB at 40 log d (common practice).
   */
  readonly sigmaDb?: number;
}

/** What the link is like at one place. */
export interface LinkPath {
  readonly distanceM: number;
  readonly lossDb: number;
  readonly marginDb: number;
  /** Loss by obstacles in it [dB]. */
  readonly obstacleDb: number;
  /** Radius of the first Fresnel zone where flat water comes nearest to the line of sight [m]. */
  readonly fresnelRadiusM: number;
  /** Share of the first Fresnel zone's radius that is clear of water and obstacles at the tightest place: 0.6 wanted; negative: line of sight blocked. */
  readonly clearShare: number;
  readonly clear: boolean;
  /** How far the earth bulges into the middle of it [m]. */
  readonly bulgeM: number;
  /** In plain words. */
  readonly why: string;
}

export interface Link {
  /** How much loss the link could still bear at a place [dB]; negative: it does not hold. NaN for NaN. */
  marginDb(xM: number, yM: number): number;
  /** How far the link holds with a margin in hand, nearest distance at which it does not [m]; clockwise from grid north. At most 100 km. */
  rangeM(gridBearingDeg: number, inHandDb?: number): number;
  /** Everything about one place, for the table and the reader. */
  pathTo(xM: number, yM: number): LinkPath;
  /** One sigma of the margin [dB]. */
  readonly sigmaDb: number;
  /** Margin that keeps the link 95 times of 100, 1.645 sigma [dB]. */
  readonly allowanceDb: number;
  /** Beyond it loss grows as 40 log d [m]. */
  readonly breakDistanceM: number;
  /** Where the margin comes from, in plain words. */
  readonly why: string;
}

const SEA: WaterSurface = { temperatureC: 15, salinity: 35, waveHeightM: 0 };
const STEPS = 2048;
const FARTHEST_M = 100_000;
const PER_STEP = Math.log(FARTHEST_M) / (STEPS - 1);
/** No edge is reckoned nearer to an antenna than this [m]. */
const NEAREST_M = 1;
/** Knots and weights of the mean over a normal spread: Gauss-Hermite, five points (Abramowitz and Stegun, table 25.10). */
const SPREAD: readonly (readonly [number, number])[] = [[-2.856970013872806, 0.011257411327721], [-1.355626179974266, 0.222075922005613], [0, 0.533333333333333], [1.355626179974266, 0.222075922005613], [2.856970013872806, 0.011257411327721]];

/**
 * The link as a map of margin.
 *
 * Loss over open water is that of two rays with the complex reflection of the water, the power averaged over an antenna that
 * rolls and heaves (a tenth of its height, or the waves), so that the nulls close by have the depth a boat sees; the curve of
 * the earth comes on top. Obstacles in the way add what they diffract beyond what flat water does: one equivalent knife edge for
 * all of them (Bullington), without the allowance for rolling country. Nothing is said of reflections by hulls and walls, of
 * ducts, of the antennas' patterns, or of other users of the band.
 *
 * Made once in a few milliseconds, then a table look-up and the edges in that direction for each place.
 *
 * @throws RangeError for a frequency outside 100..10 000 MHz, heights that are not above 0, or a budget that is not numbers
 * Source: ITU-R P.525-4; P.526-15, 4.1, 4.5.1, 4.5.2 (the sum of obstacle and surface), 3.1.1.2; see link-formulas and link-two-ray.
 */
export function createLink(options: LinkOptions): Link {
  const { base, frequencyMhz, baseHeightM, boatHeightM, budget, polarisation = 'vertical', water = SEA, obstacles = [], standM = 20, sigmaDb = 5 } = options;
  if (!(frequencyMhz >= 100 && frequencyMhz <= 10_000)) throw new RangeError(`frequencyMhz ${frequencyMhz}: expected 100 to 10 000`);
  for (const [name, value] of Object.entries({ baseHeightM, boatHeightM })) if (!(value > 0 && Number.isFinite(value))) throw new RangeError(`${name} ${value}: expected more than 0 (above the water)`);
  if (!(sigmaDb >= 0 && Number.isFinite(sigmaDb))) throw new RangeError(`sigmaDb ${sigmaDb}: expected 0 or more`);
  if (!Number.isFinite(base.xM + base.yM)) throw new RangeError(`base ${base.xM}, ${base.yM}: expected a place`);
  const reflection = waterReflection(frequencyMhz, water, polarisation);
  const lambda = wavelengthM(frequencyMhz);

  const overWaterDb = (distanceM: number, aM: number, bM: number): number => {
    const spreadM = Math.max(0.1 * bM, water.waveHeightM / 4);
    let power = 0;
    for (const [sigmas, weight] of SPREAD) {
      power += weight * 10 ** (-twoRayLossDb(frequencyMhz, distanceM, aM, Math.max(0.1 * bM, bM + sigmas * spreadM), reflection) / 10);
    }
    return curvatureLossDb(frequencyMhz, distanceM) - 10 * Math.log10(power);
  };
  const heights = { baseHeightM, boatHeightM, frequencyMhz, polarisation };
  const bearable = budgetLoss(budget, heights, (over, distanceM, aM, bM) => (over === 'water' ? overWaterDb(distanceM, aM, bM) : freeSpaceLossDb(frequencyMhz, distanceM)));

  // By steps of the distance's logarithm, 1 m to 100 km: loss over water.
  const lossTable = Float64Array.from({ length: STEPS }, (_, i) => overWaterDb(Math.exp(i * PER_STEP), baseHeightM, boatHeightM));
  const openLossDb = (distanceM: number): number => {
    const at = Math.log(Math.max(1, distanceM)) / PER_STEP;
    const low = Math.min(STEPS - 2, Math.floor(at));
    // Beyond the table the last slope goes on.
    return Number.isNaN(at) ? NaN : lossTable[low]! + (at - low) * (lossTable[low + 1]! - lossTable[low]!);
  };

  const sectors = new ObstacleSectors(obstacles, base.xM, base.yM, standM);
  const slant = { baseHeightM, boatHeightM };
  const obstacleDb = (dxM: number, dyM: number, distanceM: number, openDb: number): number => {
    if (sectors.isEmpty) return 0;
    const crossings = sectors.cross(dxM, dyM);
    if (crossings.count === 0 || distanceM <= 2 * NEAREST_M) return 0;
    const flat = flatWaterParameter(lambda, distanceM, slant);
    const edge = bullingtonParameter(lambda, distanceM, slant, crossings);
    if (!(edge > flat)) return 0;
    const moreDb = knifeEdgeLossDb(edge) - knifeEdgeLossDb(flat);
    // What two rays gain on free space needs the path open; it fades as the path is blocked.
    const gainDb = Math.max(0, freeSpaceLossDb(frequencyMhz, Math.max(1, distanceM)) - openDb);
    return moreDb + gainDb * Math.min(1, moreDb / 6);
  };
  const lossDb = (dxM: number, dyM: number): number => {
    const distanceM = Math.sqrt(dxM * dxM + dyM * dyM);
    const openDb = openLossDb(distanceM);
    return openDb + obstacleDb(dxM, dyM, distanceM, openDb);
  };
  const marginAt = (dxM: number, dyM: number): number => bearable.lossDb - lossDb(dxM, dyM);

  return {
    marginDb: (xM, yM) => marginAt(xM - base.xM, yM - base.yM),
    rangeM(gridBearingDeg, inHandDb = 0) {
      const [ux, uy] = [Math.sin((gridBearingDeg * Math.PI) / 180), Math.cos((gridBearingDeg * Math.PI) / 180)];
      const holds = (distanceM: number): boolean => marginAt(ux * distanceM, uy * distanceM) >= inHandDb;
      if (Number.isNaN(gridBearingDeg)) return NaN;
      for (let i = 0; i < STEPS; i++) {
        const distanceM = Math.exp(i * PER_STEP);
        if (holds(distanceM)) continue;
        if (i === 0) return 0;
        let [near, far] = [Math.exp((i - 1) * PER_STEP), distanceM];
        while (far - near > 0.01) {
          const middle = (near + far) / 2;
          if (holds(middle)) near = middle;
          else far = middle;
        }
        return near;
      }
      return FARTHEST_M;
    },
    pathTo(xM, yM) {
      const [dxM, dyM] = [xM - base.xM, yM - base.yM];
      const distanceM = Math.hypot(dxM, dyM);
      const openDb = openLossDb(distanceM);
      const blockedDb = obstacleDb(dxM, dyM, distanceM, openDb);
      const parameter = Math.max(flatWaterParameter(lambda, distanceM, slant), sectors.isEmpty ? -Infinity : bullingtonParameter(lambda, distanceM, slant, sectors.cross(dxM, dyM)));
      const clearShare = -parameter / Math.SQRT2;
      const tightest = distanceM * (baseHeightM / (baseHeightM + boatHeightM));
      const marginDb = bearable.lossDb - openDb - blockedDb;
      const clear = clearShare >= CLEAR_SHARE;
      const zone = clear
        ? 'the first Fresnel zone is clear'
        : clearShare >= 0
          ? `${(100 * clearShare).toFixed(0)} % of the first Fresnel zone is clear, 60 % is wanted: ${blockedDb > 0 ? 'something stands in it' : 'the water itself is in it, raise the antennas'}`
          : 'the line of sight is blocked';
      return {
        distanceM,
        lossDb: openDb + blockedDb,
        marginDb,
        obstacleDb: blockedDb,
        fresnelRadiusM: fresnelRadiusM(frequencyMhz, tightest, distanceM - tightest),
        clearShare,
        clear,
        bulgeM: earthBulgeM(distanceM / 2, distanceM / 2),
        why: `${distanceM.toFixed(0)} m: ${openDb.toFixed(1)} dB over water${blockedDb > 0 ? ` and ${blockedDb.toFixed(1)} dB by what stands in the way` : ''}, ${tenths(marginDb)} dB in hand; ${zone}`,
      };
    },
    sigmaDb,
    allowanceDb: 1.6448536 * sigmaDb,
    breakDistanceM: breakDistanceM(frequencyMhz, baseHeightM, boatHeightM),
    why: `${frequencyMhz} MHz, antennas ${baseHeightM} m and ${boatHeightM} m above the water; ${bearable.why}; one sigma ${sigmaDb} dB`,
  };
}

/** One decimal, without a minus before zero. */
function tenths(value: number): string {
  return (Math.round(value * 10) / 10 + 0).toFixed(1);
}

interface Slant {
  readonly baseHeightM: number;
  readonly boatHeightM: number;
}

/**
 * The knife-edge parameter v of the water itself: the greatest on the path, at h1 : h2 of it.
 * With flat water v = -sqrt(8 h1 h2 / (lambda d)); the bulge of the earth is added there.
 */
function flatWaterParameter(lambda: number, distanceM: number, { baseHeightM, boatHeightM }: Slant): number {
  const fromM = (distanceM * baseHeightM) / (baseHeightM + boatHeightM);
  const toM = distanceM - fromM;
  const clearM = (2 * baseHeightM * boatHeightM) / (baseHeightM + boatHeightM) - earthBulgeM(fromM, toM);
  return -clearM * Math.sqrt((2 * distanceM) / (lambda * fromM * toM));
}

/**
 * The parameter v of the one knife edge that stands for all stretches in the way.
 * Line of sight free: the greatest of theirs; blocked: where the steepest lines from both antennas meet.
 * Source: ITU-R P.526-15, 4.5.1 (Bullington), without the correction 10 + 0.02 d.
 */
function bullingtonParameter(lambda: number, distanceM: number, { baseHeightM, boatHeightM }: Slant, crossings: Crossings): number {
  const sight = (boatHeightM - baseHeightM) / distanceM;
  let fromBase = -Infinity;
  let fromBoat = -Infinity;
  let greatest = -Infinity;
  for (let k = 0; k < crossings.count; k++) {
    const startM = Math.min(distanceM - NEAREST_M, Math.max(NEAREST_M, crossings.startM[k]!));
    const endM = Math.min(distanceM - NEAREST_M, Math.max(startM, crossings.endM[k]!));
    const heightM = crossings.heightM[k]!;
    // Greatest v of a flat top below the line of sight lies where its depth below is parted as the path is, else at its ends.
    const [belowBase, belowBoat] = [baseHeightM - heightM, boatHeightM - heightM];
    const inner = belowBase > 0 && belowBoat > 0 ? Math.min(endM, Math.max(startM, (distanceM * belowBase) / (belowBase + belowBoat))) : startM;
    for (let place = 0; place < 3; place++) {
      const atM = place === 0 ? startM : place === 1 ? endM : inner;
      const topM = heightM + earthBulgeM(atM, distanceM - atM);
      fromBase = Math.max(fromBase, (topM - baseHeightM) / atM);
      fromBoat = Math.max(fromBoat, (topM - boatHeightM) / (distanceM - atM));
      const aboveM = topM - baseHeightM - sight * atM;
      greatest = Math.max(greatest, aboveM * Math.sqrt((2 * distanceM) / (lambda * atM * (distanceM - atM))));
    }
  }
  if (!(fromBase > sight)) return greatest;
  const meetM = (boatHeightM - baseHeightM + fromBoat * distanceM) / (fromBase + fromBoat);
  const aboveM = baseHeightM + fromBase * meetM - (baseHeightM + sight * meetM);
  return aboveM * Math.sqrt((2 * distanceM) / (lambda * meetM * (distanceM - meetM)));
}
