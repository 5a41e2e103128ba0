/**
 * Where the moon and the sun are on average, and what the tilt of the moon's orbit does to each tidal constituent.
 * Angles in degrees unless the name says otherwise.
 */

/** Mean longitudes at a time [deg]: `hourAngle` T of the mean sun at Greenwich, moon s, sun h, lunar perigee p, solar perigee p1, lunar node N. */
export interface MeanLongitudes {
  readonly hourAngle: number;
  readonly moon: number;
  readonly sun: number;
  readonly perigee: number;
  readonly solarPerigee: number;
  readonly node: number;
}

/**
 * Mean longitudes at a time, in the expressions the official predictions are made with.
 *
 * @param timeS UTC seconds since 1970
 *
 * Source: Schureman (1958), SP 98, table 1 (centuries from 1899-12-31 12:00), coefficients from memory; held against
 * published equilibrium arguments in the tests.
 */
export function meanLongitudes(timeS: number): MeanLongitudes {
  const centuries = (timeS / 86_400 + 25_567.5) / 36_525;
  const t2 = centuries * centuries;
  const t3 = t2 * centuries;
  return {
    hourAngle: 180 + (((timeS % 86_400) + 86_400) % 86_400) / 240,
    moon: 270.43659 + 481_267.89057 * centuries + 0.00198 * t2 + 0.000002 * t3,
    sun: 279.69668 + 36_000.76892 * centuries + 0.0003 * t2,
    perigee: 334.32956 + 4069.03403 * centuries - 0.01032 * t2 - 0.00001 * t3,
    solarPerigee: 281.22083 + 1.71902 * centuries + 0.00045 * t2 + 0.000003 * t3,
    node: 259.18328 - 1934.14201 * centuries + 0.00208 * t2 + 0.000002 * t3,
  };
}

/** How fast the mean longitudes of `meanLongitudes` grow [deg/h]. */
export const LONGITUDE_SPEED = {
  hourAngle: 15,
  moon: 481_267.89057 / 876_600,
  sun: 36_000.76892 / 876_600,
  perigee: 4069.03403 / 876_600,
  solarPerigee: 1.71902 / 876_600,
} as const;

/** Which of Schureman's formulas gives a constituent's node factor f and node angle u. */
export type NodeFormula = 'none' | 'Mm' | 'Mf' | 'O1' | 'J1' | 'OO1' | 'M2' | 'K1' | 'K2' | 'L2' | 'M1' | 'M3' | 'KJ2';

/** A factor on the amplitude and an angle added to the argument [deg]. */
export interface NodeCorrection {
  readonly factor: number;
  readonly angleDeg: number;
}

const RAD = Math.PI / 180;

/**
 * Node factor f and angle u of every formula at a time.
 *
 * @param node longitude N of the moon's ascending node [deg]
 * @param perigee longitude p of the lunar perigee [deg]; only L2 and M1 depend on it
 *
 * Source: Schureman (1958), Manual of Harmonic Analysis and Prediction of Tides, SP 98: orbit angles 156; factors 73-79,
 * 149, 215 (L2), 207 (M1), 227 (K1), 235 (K2); angles 224 (K1), 232 (K2), 214 (L2), 203 (M1). Formula numbers from memory;
 * values held against published tables in the tests.
 */
export function nodeCorrections(node: number, perigee: number): Record<NodeFormula, NodeCorrection> {
  const nodeRad = node * RAD;
  // I: obliquity of the moon's orbit to the equator; nu, xi: its crossing of the equator, in right ascension and in the orbit.
  const tilt = Math.acos(0.9136949 - 0.0356926 * Math.cos(nodeRad));
  const half = Math.atan2(1.01883 * Math.sin(nodeRad / 2), Math.cos(nodeRad / 2));
  const other = Math.atan2(0.64412 * Math.sin(nodeRad / 2), Math.cos(nodeRad / 2));
  const nu = wrapRad(half - other);
  const xi = wrapRad(nodeRad - half - other);
  const sin2 = Math.sin(2 * tilt);
  const sinSquared = Math.sin(tilt) ** 2;
  const tan2 = Math.tan(tilt / 2) ** 2;
  const nuK1 = Math.atan2(sin2 * Math.sin(nu), sin2 * Math.cos(nu) + 0.3347);
  const twiceNuK2 = Math.atan2(sinSquared * Math.sin(2 * nu), sinSquared * Math.cos(2 * nu) + 0.0727);
  const fromNode = wrapRad(perigee * RAD - xi);

  const fM2 = Math.cos(tilt / 2) ** 4 / 0.9154;
  const fO1 = (Math.sin(tilt) * Math.cos(tilt / 2) ** 2) / 0.38;
  const uM2 = 2 * (xi - nu);
  const angleL2 = Math.atan2(Math.sin(2 * fromNode), 1 / (6 * tan2) - Math.cos(2 * fromNode));
  const factorL2 = Math.sqrt(1 - 12 * tan2 * Math.cos(2 * fromNode) + 36 * tan2 * tan2);
  // M1 in the mean form of the published tables.
  const angleM1 = Math.atan2(0.483 * Math.sin(fromNode), Math.cos(fromNode));
  const factorM1 = Math.sqrt(2.31 + 1.435 * Math.cos(2 * fromNode));
  const of = (factor: number, angleRad: number): NodeCorrection => ({ factor, angleDeg: angleRad / RAD });
  return {
    none: of(1, 0),
    Mm: of((2 / 3 - sinSquared) / 0.5021, 0),
    Mf: of(sinSquared / 0.1578, -2 * xi),
    O1: of(fO1, 2 * xi - nu),
    J1: of(sin2 / 0.7214, -nu),
    OO1: of((Math.sin(tilt) * Math.sin(tilt / 2) ** 2) / 0.0164, -2 * xi - nu),
    M2: of(fM2, uM2),
    K1: of(Math.sqrt(0.8965 * sin2 * sin2 + 0.6001 * sin2 * Math.cos(nu) + 0.1006), -nuK1),
    K2: of(Math.sqrt(19.0444 * sinSquared * sinSquared + 2.7702 * sinSquared * Math.cos(2 * nu) + 0.0981), -twiceNuK2),
    L2: of(fM2 * factorL2, uM2 - angleL2),
    // Goes round with the perigee: the mean speed of M1 is that of its argument and of p.
    M1: of(fO1 * factorM1, xi - nu + angleM1),
    M3: of(fM2 ** 1.5, 1.5 * uM2),
    KJ2: of(sinSquared / 0.1565, -2 * nu),
  };
}

function wrapRad(angle: number): number {
  return angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));
}
