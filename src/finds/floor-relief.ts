import type { PingCells } from './slant-profile.js';

/** How uneven the floor beside a find is. */
export interface FloorRelief {
  /** How much higher or lower the floor lies a shadow's length further out, one sigma [m]. */
  readonly reliefM: number;
  /** Variance of the floor's power over its square, speckle apart: 0 even ground. */
  readonly texture: number;
}

/**
 * Unevenness of the floor over the length of a shadow, from the floor beside it at the same ranges.
 *
 * A floor that answers by Lambert's law returns sin^2 of the grazing angle: where it tilts towards the sonar by s, brighter by
 * (sin(g + s) / sin g)^2. So s = tan g (sqrt(P) - 1) for small s, P the power over the usual one, and summed over the length of the
 * shadow it is the rise from its start to its end. The spread of that over groups of pings as many as show the find,
 * less what speckle alone makes of it.
 *
 * @param grouped pings of one group are the mean of one look at the floor
 * @param floor usual power there
 * @param sine of the grazing angle
 * Source: Lambert's law, Urick (1983), Principles of Underwater Sound, ch. 8; sqrt of a mean of n exponential powers: variance 1 / (4 n) to first order.
 */
export function floorRelief(grouped: readonly (readonly PingCells[])[], floor: number, sine: number, fromM: number, toM: number, cellM: number): FloorRelief {
  const cosine = Math.sqrt(Math.max(0.01, 1 - sine * sine));
  const tangent = sine / cosine;
  const rises: number[] = [];
  let [speckle, power, square, count] = [0, 0, 0, 0];
  for (const group of grouped) {
    let rise = 0;
    let noise = 0;
    for (let cell = fromM; cell < toM; cell += cellM) {
      let [sum, n] = [0, 0];
      for (const { slantM, power: powers, samples } of group) {
        let i = Math.max(0, Math.floor((cell - (slantM[0] ?? 0)) / cellM) - 1);
        while (i < slantM.length && slantM[i]! < cell) i++;
        for (; i < slantM.length && slantM[i]! < cell + cellM; i++) {
          sum += samples[i]! * Math.min(powers[i]!, MOST_POWER * floor);
          n += samples[i]!;
          power += powers[i]!;
          square += powers[i]! * powers[i]!;
          count++;
        }
      }
      if (n === 0) continue;
      const ground = cellM / cosine;
      // Bias of the square root of a mean of n: -1 / (8 n).
      rise += tangent * ground * (Math.sqrt(sum / n / floor) + 1 / (8 * n) - 1);
      noise += (tangent * ground) ** 2 / (4 * n);
    }
    rises.push(rise);
    speckle += noise;
  }
  if (rises.length < 3) return { reliefM: 0, texture: 0 };
  const variance = rises.reduce((sum, rise) => sum + rise * rise, 0) / rises.length;
  const mean = power / count;
  return { reliefM: Math.sqrt(Math.max(0, variance - speckle / rises.length)), texture: count === 0 ? 0 : Math.max(0, square / count / (2 * mean * mean) - 1) };
}
const MOST_POWER = 8;
