import { normalTail } from './normal-tail.js';
import type { Blocking } from './shadow-model.js';
import type { PingCells } from './slant-profile.js';

/** Of the shadow as first seen, the stretch that its darkness is read from. */
const INNER = [0.12, 0.65] as const;
/** Places across it that stand for its whole length. */
const PLACES = 7;
/** How many echoes the beam's shape is worth against what each ping shows itself. */
const SHAPE_LOOKS = 4;
/** Wider than it is said to be, by so much, are tried [m]: no beam is narrower than the transducer is long. */
const WIDER_M = [0.05, 0.25, 0.5];
const LEAST_LEVEL = 0.03;
const MOST_POWER = 4;

/**
 * Where along the track something stands, and how much of the beam it hides in each ping, from how dark its shadow is there: by
 * likelihood over its middle, its length and the beam's width, then each ping's own darkness with that as a prior.
 *
 * @param ends slant range of its end in each ping [m]
 * @param alongM each ping's place along the track [m]
 * @param lengthM shadow's length as first seen, slant [m]
 * @param beamM width of the beam there at half power [m]
 * @returns with the slant range of its end at its middle
 */
export function blockingOf(pings: readonly PingCells[], ends: readonly number[], alongM: readonly number[], floor: number, lengthM: number, cellM: number, beamM: number): Blocking & { readonly middleM: number } {
  const inside = pings.map(({ slantM, power, samples }, p) => {
    let [sum, count] = [0, 0];
    const [from, to] = [ends[p]! + Math.max(cellM, INNER[0] * lengthM), ends[p]! + Math.max(2 * cellM, INNER[1] * lengthM)];
    for (let i = 0; i < slantM.length; i++) {
      if (slantM[i]! < from || slantM[i]! > to) continue;
      sum += (samples[i]! * Math.min(power[i]!, MOST_POWER * floor)) / floor;
      count += samples[i]!;
    }
    return { sum, count };
  });
  const [fromM, toM] = [alongM[0]!, alongM[alongM.length - 1]!];
  const stepM = alongM.length > 1 ? (toM - fromM) / (alongM.length - 1) : beamM;
  let best = { likelihood: -Infinity, middleM: fromM, halfM: beamM, widthM: beamM };
  for (const widthM of WIDER_M.map((more) => beamM + more)) {
    for (let halfM = 0.1; halfM < (toM - fromM) / 2 + 0.6; halfM *= 1.15) {
      for (let middleM = fromM; middleM <= toM + 1e-9; middleM += stepM / 3) {
        let likelihood = 0;
        for (const [p, { sum, count }] of inside.entries()) {
          const level = Math.max(LEAST_LEVEL, 1 - blocked(alongM[p]! - middleM, halfM, widthM));
          likelihood -= count * Math.log(level) + sum / level;
        }
        if (likelihood > best.likelihood) best = { likelihood, middleM, halfM, widthM };
      }
    }
  }
  const { middleM, halfM, widthM } = best;
  const places = Float64Array.from({ length: PLACES }, (_, j) => middleM + halfM * ((2 * j + 1) / PLACES - 1));
  const own = between(alongM, ends, middleM);
  return {
    middleM: own,
    offM: places.map((place) => between(alongM, ends, place) - own),
    weights: alongM.map((along, p) => {
      const list = places.map((place) => blocked(along - place, halfM / PLACES, widthM));
      const whole = list.reduce((sum, each) => sum + each, 0);
      const { sum, count } = inside[p]!;
      const level = (SHAPE_LOOKS * (1 - whole) + sum) / (SHAPE_LOOKS + count);
      const times = whole > 0.01 ? Math.min(1, Math.max(0, 1 - level)) / whole : 1;
      return list.map((each) => times * each);
    }),
  };
}

/** Share of a bell of a width at half its height that lies within `halfM` of a place `offM` from its middle. */
function blocked(offM: number, halfM: number, widthM: number): number {
  const sigma = widthM / 2.3548;
  return normalTail((offM - halfM) / sigma) - normalTail((offM + halfM) / sigma);
}

/** Straight between the values at rising places; the first and the last beyond them. */
function between(at: readonly number[], values: readonly number[], place: number): number {
  if (at.length < 2) return values[0]!;
  let i = 0;
  while (i < at.length - 2 && at[i + 1]! < place) i++;
  const share = Math.min(1, Math.max(0, (place - at[i]!) / (at[i + 1]! - at[i]!)));
  return values[i]! + share * (values[i + 1]! - values[i]!);
}
