import type { Polarisation } from './link-two-ray.js';

/** What the radio pair can bear: from the range the maker rates, or from powers and gains. */
export type LinkBudget =
  | {
      readonly kind: 'rated';
      /** Range the maker rates [m]. */
      readonly rangeM: number;
      /** What it is rated over: low over water between the heights given, or with a free line of sight high above everything. */
      readonly over: 'water' | 'free space';
      /** Antenna heights it is rated for; those of the link itself where they are not given [m]. */
      readonly baseHeightM?: number;
      readonly boatHeightM?: number;
    }
  | {
      readonly kind: 'power';
      readonly transmitDbm: number;
      /** Gains of both antennas together [dB]. */
      readonly gainsDb: number;
      /** Cables, connectors and the like [dB]. */
      readonly lossesDb: number;
      /** Weakest signal received [dBm]. */
      readonly sensitivityDbm: number;
    };

/** A budget as loss, and where it comes from in a sentence. */
export interface BudgetLoss {
  /** Loss between isotropic antennas at which the margin is 0 [dB]. */
  readonly lossDb: number;
  readonly why: string;
}

/** Loss that a budget bears. `lossAt` gives the loss at a distance between two heights under the stated conditions. @throws RangeError naming what is not a number in range */
export function budgetLoss(
  budget: LinkBudget,
  heights: { readonly baseHeightM: number; readonly boatHeightM: number; readonly frequencyMhz: number; readonly polarisation: Polarisation },
  lossAt: (over: 'water' | 'free space', distanceM: number, baseHeightM: number, boatHeightM: number) => number,
): BudgetLoss {
  if (budget.kind === 'power') {
    for (const [name, value] of Object.entries({ transmitDbm: budget.transmitDbm, gainsDb: budget.gainsDb, lossesDb: budget.lossesDb, sensitivityDbm: budget.sensitivityDbm })) {
      if (!Number.isFinite(value)) throw new RangeError(`budget.${name} ${value}: expected a number`);
    }
    const { transmitDbm, gainsDb, lossesDb, sensitivityDbm } = budget;
    const lossDb = transmitDbm + gainsDb - lossesDb - sensitivityDbm;
    return { lossDb, why: `${transmitDbm} dBm sent, ${gainsDb} dB of antennas, ${lossesDb} dB of cables, ${sensitivityDbm} dBm needed: ${lossDb.toFixed(1)} dB of loss can be borne` };
  }
  const { rangeM, over, baseHeightM = heights.baseHeightM, boatHeightM = heights.boatHeightM } = budget;
  for (const [name, value] of Object.entries({ rangeM, baseHeightM, boatHeightM })) if (!(value > 0 && Number.isFinite(value))) throw new RangeError(`budget.${name} ${value}: expected more than 0`);
  const lossDb = lossAt(over, rangeM, baseHeightM, boatHeightM);
  const conditions = over === 'water' ? `over water from ${baseHeightM} m to ${boatHeightM} m` : 'in free space';
  return { lossDb, why: `rated ${rangeM} m ${conditions}: ${lossDb.toFixed(1)} dB of loss can be borne` };
}
