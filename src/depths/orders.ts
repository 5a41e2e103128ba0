/** The orders of IHO S-44, strictest first. */
export const ORDERS = ['exclusive', 'special', '1a', '1b', '2'] as const;
export type OrderName = (typeof ORDERS)[number];

/** Largest uncertainties an order allows, 95 %: THU = thuM + thuShare x depth, TVU = sqrt(a^2 + (b x depth)^2). */
export interface OrderLimits {
  readonly thuM: number;
  readonly thuShare: number;
  readonly tvuAM: number;
  readonly tvuB: number;
}

/**
 * The published limits.
 * Source: IHO S-44 ed. 6.1.0 (2022), table 1. Orders 1a and 1b differ in feature detection and coverage, not in these.
 */
export const ORDER_LIMITS: Readonly<Record<OrderName, OrderLimits>> = {
  exclusive: { thuM: 1, thuShare: 0, tvuAM: 0.15, tvuB: 0.0075 },
  special: { thuM: 2, thuShare: 0, tvuAM: 0.25, tvuB: 0.0075 },
  '1a': { thuM: 5, thuShare: 0.05, tvuAM: 0.5, tvuB: 0.013 },
  '1b': { thuM: 5, thuShare: 0.05, tvuAM: 0.5, tvuB: 0.013 },
  '2': { thuM: 20, thuShare: 0.1, tvuAM: 1, tvuB: 0.023 },
};

/** Share of good soundings an order must hold for, to be called met: the confidence level of S-44 itself. */
const MET_SHARE = 0.95;

/** Largest vertical uncertainty an order allows at a depth, 95 % [m]. */
export function tvuLimitM(order: OrderName, depthM: number): number {
  const { tvuAM, tvuB } = ORDER_LIMITS[order];
  return Math.hypot(tvuAM, tvuB * depthM);
}

/** Largest horizontal uncertainty an order allows at a depth, 95 % [m]. */
export function thuLimitM(order: OrderName, depthM: number): number {
  const { thuM, thuShare } = ORDER_LIMITS[order];
  return thuM + thuShare * Math.max(0, depthM);
}

/** How good soundings stand against each order. */
export interface OrderStanding {
  /** Share of good soundings within both limits of each order, 0..1; NaN where there are no good soundings. */
  readonly share: Readonly<Record<OrderName, number>>;
  /** The strictest order that at least 95 % of the good soundings meet; null where there is none. Says nothing of coverage. */
  readonly met: OrderName | null;
}

/**
 * Holds soundings against the orders' uncertainty limits. A good sounding without an uncertainty meets none.
 *
 * @param soundings only those with reason 0 are counted; uncertainties 95 %
 */
export function orderStanding(soundings: {
  readonly n: number;
  readonly depthM: ArrayLike<number>;
  readonly tvuM: ArrayLike<number>;
  readonly thuM: ArrayLike<number>;
  readonly reason: ArrayLike<number>;
}): OrderStanding {
  const within = Object.fromEntries(ORDERS.map((order) => [order, 0])) as Record<OrderName, number>;
  let good = 0;
  for (let i = 0; i < soundings.n; i++) {
    if (soundings.reason[i] !== 0) continue;
    good++;
    const depth = soundings.depthM[i]!;
    for (const order of ORDERS) {
      if (soundings.tvuM[i]! <= tvuLimitM(order, depth) && soundings.thuM[i]! <= thuLimitM(order, depth)) within[order]++;
    }
  }
  const share = Object.fromEntries(ORDERS.map((order) => [order, within[order] / good])) as Record<OrderName, number>;
  return { share, met: good === 0 ? null : (ORDERS.find((order) => share[order] >= MET_SHARE) ?? null) };
}
