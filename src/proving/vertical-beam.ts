/** One-way power of a side's vertical beam by direction. */
export interface VerticalBeam {
  /**
   * @param out horizontal part of the unit direction, away from the boat on this side
   * @param down downward part
   * @param axisOut, axisDown the same of the beam's axis, roll included
   * @returns power relative to the axis [1]
   */
  power(out: number, down: number, axisOut: number, axisDown: number): number;
}

/** Where the pattern of a line of sources is at half power: sin(x)^2 / x^2 = 0.5. */
const HALF_POWER_X = 1.391557;
/** No transducer is silent to the side or behind: what leaks, one way [1]. */
const LEAK = 0.003;
const BACK_LEAK = 0.003;
const PARTS = 2048;

/**
 * The beam of a line of sources: (sin x / x)^2, x = HALF_POWER_X sin(off) / sin(width / 2), and a little that leaks every way.
 *
 * Source: pattern of a uniform line array, Urick (1983), Principles of Underwater Sound, ch. 3. The leak is invented.
 */
export function createVerticalBeam(widthDeg: number): VerticalBeam {
  const scale = HALF_POWER_X / Math.sin((widthDeg * Math.PI) / 360);
  const table = new Float64Array(PARTS + 2);
  for (let i = 0; i <= PARTS + 1; i++) {
    const x = (scale * Math.min(i, PARTS)) / PARTS;
    const lobe = x === 0 ? 1 : Math.sin(x) / x;
    table[i] = lobe * lobe + LEAK;
  }
  return {
    power(out, down, axisOut, axisDown) {
      if (out * axisOut + down * axisDown <= 0) return BACK_LEAK;
      const at = PARTS * Math.min(1, Math.abs(out * axisDown - down * axisOut));
      const i = at | 0;
      return table[i]! + (table[i + 1]! - table[i]!) * (at - i);
    },
  };
}
