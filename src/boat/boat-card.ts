/** A figure with its worth. */
export interface CardFigure {
  readonly value: number;
  /** Half width that holds the truth with 95 % [in the unit]; NaN where it is not known. */
  readonly uncertainty95: number;
  readonly unit: string;
  /** `trials`: measured; `hand`: entered by the user; `default`: for a boat of this class, to be replaced by trials. */
  readonly source: 'trials' | 'hand' | 'default';
  /** Ids of the trials it comes from. */
  readonly trials: readonly string[];
  /** How it was worked out, with its source, e.g. `mean of means, ITTC 7.5-04-01-01.1`. */
  readonly method: string;
  /** What the reader should know of it; empty where nothing. */
  readonly note: string;
}

/** A value at a speed or command; for curves and for figures that depend on speed. */
export interface CardPoint extends CardFigure {
  /** Speed through the water it holds at [m/s]. */
  readonly atSpeedMps: number;
}

/** Names of the single figures of a card, each with unit and what it is; docs list them from here. */
export const CARD_FIGURES = {
  topSpeed: { unit: 'm/s', label: 'top speed through the water' },
  timeTo63: { unit: 's', label: 'from rest to 63 % of top speed' },
  timeTo90: { unit: 's', label: 'from rest to 90 % of top speed' },
  timeTo95: { unit: 's', label: 'from rest to 95 % of top speed' },
  distanceTo90: { unit: 'm', label: 'way made from rest to 90 % of top speed' },
  coastLength: { unit: 'm', label: 'coasting length L in v = v0 / (1 + v0 t / L)' },
  coastTo10: { unit: 'm', label: 'way made coasting from top speed to a tenth of it' },
  stopAstern: { unit: 'm', label: 'way made from top speed to rest, full astern' },
  stopAsternTime: { unit: 's', label: 'time for it' },
  spinRate: { unit: 'deg/s', label: 'yaw rate spinning on the spot' },
  spinWander: { unit: 'm', label: 'how far the pivot wanders in a spin, 95 %' },
  nomotoK: { unit: '1/s', label: 'yaw response K (Nomoto), per unit of full differential command' },
  nomotoT: { unit: 's', label: 'yaw response T (Nomoto)' },
  overshootFirst: { unit: 'deg', label: 'first overshoot of the zig-zag' },
  hotelPower: { unit: 'W', label: 'power with the thrusters at rest' },
  powerCoefficient: { unit: 'W/(m/s)^n', label: 'a in P = hotel + a v^n' },
  powerExponent: { unit: '1', label: 'n in P = hotel + a v^n' },
  batteryEnergy: { unit: 'Wh', label: 'energy of the full battery that may be used' },
  trackMean: { unit: 'm', label: 'cross-track error on straight legs, mean, to starboard positive' },
  trackRms: { unit: 'm', label: 'cross-track error on straight legs, root mean square' },
  track95: { unit: 'm', label: 'cross-track error on straight legs, 95 %' },
  settleDistance: { unit: 'm', label: 'way after a turn until within the 95 % error' },
} as const;

export type CardFigureName = keyof typeof CARD_FIGURES;

/** Turning circle at one approach speed, drift removed, from where the helm was ordered (IMO MSC.137(76), ITTC 7.5-04-02-01). */
export interface TurningFigures {
  readonly atSpeedMps: number;
  readonly side: 'port' | 'starboard';
  readonly advanceM: CardFigure;
  readonly transferM: CardFigure;
  readonly tacticalDiameterM: CardFigure;
  readonly steadyDiameterM: CardFigure;
  readonly timeTo90S: CardFigure;
  readonly timeTo180S: CardFigure;
  readonly timeTo360S: CardFigure;
  /** Speed kept in the steady turn over approach speed [1]. */
  readonly speedKept: CardFigure;
}

/** Current as the trials found it. */
export interface CurrentFigures {
  /** Direction it sets towards, true [deg], and drift [m/s]. */
  readonly setDeg: CardFigure;
  readonly driftMps: CardFigure;
  readonly startS: number;
  readonly endS: number;
}

/** boat/card.json: what trials found of the boat, what was entered by hand, what is a default. */
export interface BoatCard {
  readonly format: 'tallow-boat-card';
  readonly version: 1;
  readonly name: string;
  readonly lengthM: number;
  readonly massKg: number;
  readonly figures: Readonly<Record<CardFigureName, CardFigure | null>>;
  /** Command to speed through the water, by rising command. */
  readonly commandToSpeed: readonly (CardPoint & { readonly commandPct: number })[];
  /** Speed to electrical power, by rising speed. */
  readonly speedToPower: readonly CardPoint[];
  /** Covariance of (hotelPower, powerCoefficient, powerExponent), [9] row-major, where all three come from one fit to trials. */
  readonly powerCovariance?: readonly number[] | null;
  readonly turning: readonly TurningFigures[];
  readonly currents: readonly CurrentFigures[];
  /** What is missing, and the trial that would give it, in plain words. */
  readonly missing: readonly { readonly figure: string; readonly trial: string }[];
  /** What was refused and why. */
  readonly refused: readonly { readonly what: string; readonly why: string }[];
}
