/** A battery as its maker rates it. */
export interface RatedBattery {
  /** Rated capacity [Ah] at the rated time of discharge [h]: 100 Ah at 20 h. */
  readonly capacityAh: number;
  readonly ratedHours: number;
  /** Peukert's exponent: 1 for an ideal battery, about 1.05 for lithium, 1.1 to 1.3 for lead (common practice). */
  readonly exponent: number;
  readonly voltageV: number;
  /** Share of the energy that may be used, by the user's own rule for depth of discharge, temperature and age: 0 to 1. */
  readonly usableShare: number;
}

/**
 * How long a battery lasts at a steady current, in the rated form t = H (C / (I H))^k [h].
 *
 * The other form in print, t = C / I^k, takes the capacity at 1 A and gives 14.5 h for 100 Ah at 5 A and k = 1.2, where a
 * battery rated 100 Ah at 20 h lasts its 20 h.
 *
 * @returns Infinity at 0 A
 * @throws RangeError for a capacity, time or exponent out of range, or a current below 0
 * Source: Peukert (1897), Elektrotechnische Zeitschrift 20, 287-288, as in TRADE. Check: 100 Ah at 20 h, 5 A, k = 1.2: 20.0 h.
 */
export function peukertTimeH(capacityAh: number, ratedHours: number, currentA: number, exponent: number): number {
  if (!(capacityAh > 0)) throw new RangeError(`capacityAh ${capacityAh}: expected more than 0`);
  if (!(ratedHours > 0)) throw new RangeError(`ratedHours ${ratedHours}: expected more than 0`);
  if (!(exponent >= 1 && exponent < 2)) throw new RangeError(`exponent ${exponent}: expected 1 up to 2`);
  if (!(currentA >= 0)) throw new RangeError(`currentA ${currentA}: expected 0 or more; discharge is positive`);
  return ratedHours * (capacityAh / (currentA * ratedHours)) ** exponent;
}

/** Energy that may be drawn at a steady power [Wh]: voltage x current x Peukert's time x usable share. Throws as `peukertTimeH`. */
export function usableEnergyWh(battery: RatedBattery, powerW: number): number {
  if (!(battery.voltageV > 0)) throw new RangeError(`voltageV ${battery.voltageV}: expected more than 0`);
  if (!(battery.usableShare > 0 && battery.usableShare <= 1)) throw new RangeError(`usableShare ${battery.usableShare}: expected more than 0, at most 1`);
  if (!(powerW > 0)) throw new RangeError(`powerW ${powerW}: expected more than 0`);
  return powerW * peukertTimeH(battery.capacityAh, battery.ratedHours, powerW / battery.voltageV, battery.exponent) * battery.usableShare;
}
