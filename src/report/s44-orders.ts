/**
 * The orders of IHO S-44, edition 6.1.0 (2022), table 1: allowed uncertainty at 95 %.
 * TVU is sqrt(a^2 + (b d)^2), THU is a metres and a share of depth, d the depth in metres.
 */
export const S44_ORDERS = [
  { order: 'exclusive', tvuAM: 0.15, tvuB: 0.0075, thuM: 1, thuShare: 0 },
  { order: 'special', tvuAM: 0.25, tvuB: 0.0075, thuM: 2, thuShare: 0 },
  { order: '1a', tvuAM: 0.5, tvuB: 0.013, thuM: 5, thuShare: 0.05 },
  { order: '1b', tvuAM: 0.5, tvuB: 0.013, thuM: 5, thuShare: 0.05 },
  { order: '2', tvuAM: 1, tvuB: 0.023, thuM: 20, thuShare: 0.1 },
] as const;

/** Allowed total vertical uncertainty of an order at a depth, 95 % [m]. @throws RangeError for an unknown order */
export function allowedTvuM(order: string, depthM: number): number {
  const { tvuAM, tvuB } = rowOf(order);
  return Math.hypot(tvuAM, tvuB * Math.max(0, depthM));
}

/** Allowed total horizontal uncertainty of an order at a depth, 95 % [m]. @throws RangeError for an unknown order */
export function allowedThuM(order: string, depthM: number): number {
  const { thuM, thuShare } = rowOf(order);
  return thuM + thuShare * Math.max(0, depthM);
}

function rowOf(order: string): (typeof S44_ORDERS)[number] {
  const row = S44_ORDERS.find((each) => each.order === order);
  if (row === undefined) throw new RangeError(`order ${order}: expected ${S44_ORDERS.map((each) => each.order).join(', ')}`);
  return row;
}
