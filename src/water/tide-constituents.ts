import type { NodeFormula } from './tide-astronomy.js';

/**
 * A constituent's equilibrium argument, V = T*[0] + s*[1] + h*[2] + p*[3] + p1*[4] + [5] deg, and its node formula.
 *
 * Source: Schureman (1958), SP 98, table 2; from memory, held against published arguments in the tests.
 */
export interface SimpleConstituent {
  readonly argument: readonly [number, number, number, number, number, number];
  readonly node: NodeFormula;
}

/** A shallow-water constituent: how often each simple one enters. Arguments and node angles add up, node factors multiply. */
export type CompoundConstituent = Readonly<Record<string, number>>;

const simple = (
  hourAngle: number,
  moon: number,
  sun: number,
  perigee: number,
  solarPerigee: number,
  constantDeg: number,
  node: NodeFormula,
): SimpleConstituent => ({ argument: [hourAngle, moon, sun, perigee, solarPerigee, constantDeg], node });

export const SIMPLE_CONSTITUENTS: Readonly<Record<string, SimpleConstituent>> = {
  SA: simple(0, 0, 1, 0, 0, 0, 'none'),
  SSA: simple(0, 0, 2, 0, 0, 0, 'none'),
  MM: simple(0, 1, 0, -1, 0, 0, 'Mm'),
  MF: simple(0, 2, 0, 0, 0, 0, 'Mf'),
  '2Q1': simple(1, -4, 1, 2, 0, 90, 'O1'),
  SIG1: simple(1, -4, 3, 0, 0, 90, 'O1'),
  Q1: simple(1, -3, 1, 1, 0, 90, 'O1'),
  RHO1: simple(1, -3, 3, -1, 0, 90, 'O1'),
  O1: simple(1, -2, 1, 0, 0, 90, 'O1'),
  M1: simple(1, -1, 1, 0, 0, -90, 'M1'),
  CHI1: simple(1, -1, 3, -1, 0, -90, 'J1'),
  PI1: simple(1, 0, -2, 0, 1, 90, 'none'),
  P1: simple(1, 0, -1, 0, 0, 90, 'none'),
  S1: simple(1, 0, 0, 0, 0, 0, 'none'),
  K1: simple(1, 0, 1, 0, 0, -90, 'K1'),
  PSI1: simple(1, 0, 2, 0, -1, -90, 'none'),
  PHI1: simple(1, 0, 3, 0, 0, -90, 'none'),
  THE1: simple(1, 1, -1, 1, 0, -90, 'J1'),
  J1: simple(1, 1, 1, -1, 0, -90, 'J1'),
  OO1: simple(1, 2, 1, 0, 0, -90, 'OO1'),
  '2N2': simple(2, -4, 2, 2, 0, 0, 'M2'),
  MU2: simple(2, -4, 4, 0, 0, 0, 'M2'),
  N2: simple(2, -3, 2, 1, 0, 0, 'M2'),
  NU2: simple(2, -3, 4, -1, 0, 0, 'M2'),
  M2: simple(2, -2, 2, 0, 0, 0, 'M2'),
  LDA2: simple(2, -1, 0, 1, 0, 180, 'M2'),
  L2: simple(2, -1, 2, -1, 0, 180, 'L2'),
  T2: simple(2, 0, -1, 0, 1, 0, 'none'),
  S2: simple(2, 0, 0, 0, 0, 0, 'none'),
  R2: simple(2, 0, 1, 0, -1, 180, 'none'),
  K2: simple(2, 0, 2, 0, 0, 0, 'K2'),
  KJ2: simple(2, 1, 2, -1, 0, 0, 'KJ2'),
  M3: simple(3, -3, 3, 0, 0, 0, 'M3'),
  S3: simple(3, 0, 0, 0, 0, 0, 'none'),
};

export const COMPOUND_CONSTITUENTS: Readonly<Record<string, CompoundConstituent>> = {
  MSF: { S2: 1, M2: -1 },
  MNS2: { M2: 1, N2: 1, S2: -1 },
  MKS2: { M2: 1, K2: 1, S2: -1 },
  MSN2: { M2: 1, S2: 1, N2: -1 },
  '2SM2': { S2: 2, M2: -1 },
  '2MK3': { M2: 2, K1: -1 },
  MO3: { M2: 1, O1: 1 },
  SO3: { S2: 1, O1: 1 },
  MK3: { M2: 1, K1: 1 },
  SK3: { S2: 1, K1: 1 },
  N4: { N2: 2 },
  MN4: { M2: 1, N2: 1 },
  M4: { M2: 2 },
  SN4: { S2: 1, N2: 1 },
  MS4: { M2: 1, S2: 1 },
  MK4: { M2: 1, K2: 1 },
  S4: { S2: 2 },
  SK4: { S2: 1, K2: 1 },
  '2MN6': { M2: 2, N2: 1 },
  M6: { M2: 3 },
  MSN6: { M2: 1, S2: 1, N2: 1 },
  '2MS6': { M2: 2, S2: 1 },
  '2SM6': { S2: 2, M2: 1 },
  MSK6: { M2: 1, S2: 1, K2: 1 },
  S6: { S2: 3 },
  M8: { M2: 4 },
  '3MS8': { M2: 3, S2: 1 },
  '2MSN8': { M2: 2, S2: 1, N2: 1 },
  M10: { M2: 5 },
};

/** Other spellings in use, upper case. */
const ALIASES: Readonly<Record<string, string>> = {
  RHO: 'RHO1',
  'RHO(1)': 'RHO1',
  LAM2: 'LDA2',
  LAMBDA2: 'LDA2',
  LABDA2: 'LDA2',
  SIGMA1: 'SIG1',
  THETA1: 'THE1',
  ETA2: 'KJ2',
  'M(SF)': 'MSF',
};

/** The name this program knows a constituent by, or null where it does not know it. Case and spaces do not matter. */
export function constituentName(name: string): string | null {
  const upper = name.trim().toUpperCase().replace(/\s+/g, '');
  const known = ALIASES[upper] ?? upper;
  return Object.hasOwn(SIMPLE_CONSTITUENTS, known) || Object.hasOwn(COMPOUND_CONSTITUENTS, known) ? known : null;
}
