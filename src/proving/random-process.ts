import type { Random } from '../base/random.js';

/** A correlated random value that moves on in time. */
export interface RandomProcess {
  /** The value at a time; times must not go back. */
  at(timeS: number): number;
}

/**
 * A first-order Gauss-Markov process: mean 0, standard deviation sigma, correlation exp(-dt / tau).
 * Exact at any steps of time. sigma 0 gives 0.
 *
 * Source: discretisation of the Ornstein-Uhlenbeck process, Gillespie (1996), Phys. Rev. E 54(2), 2084-2091.
 */
export function createGaussMarkov(random: Random, sigma: number, tauS: number): RandomProcess {
  let lastS = NaN;
  let value = 0;
  let keptStepS = NaN;
  let keep = 0;
  let fresh = 0;
  return {
    at(timeS) {
      if (Number.isNaN(lastS)) {
        value = sigma * random.normal();
      } else if (timeS !== lastS) {
        const stepS = timeS - lastS;
        if (stepS !== keptStepS) {
          keep = Math.exp(-stepS / tauS);
          fresh = sigma * Math.sqrt(1 - keep * keep);
          keptStepS = stepS;
        }
        value = value * keep + fresh * random.normal();
      }
      lastS = timeS;
      return value;
    },
  };
}

/**
 * A sum of sines at random frequencies and phases: smooth, defined at every time, with standard deviation sigma over
 * times long against its periods. For heave, roll and pitch. No sines, or sigma 0, gives 0.
 */
export function createSwell(random: Random, sigma: number, periodLowS: number, periodHighS: number, count: number): (timeS: number) => number {
  const amplitude = count > 0 ? sigma * Math.sqrt(2 / count) : 0;
  const omega = new Float64Array(count);
  const phase = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    // One frequency from each of `count` equal bands, so that no two beat slowly.
    const low = 1 / periodHighS + ((1 / periodLowS - 1 / periodHighS) * i) / count;
    omega[i] = 2 * Math.PI * (low + ((1 / periodLowS - 1 / periodHighS) * random.uniform()) / count);
    phase[i] = random.between(0, 2 * Math.PI);
  }
  return (timeS) => {
    let sum = 0;
    for (let i = 0; i < count; i++) sum += Math.sin(omega[i]! * timeS + phase[i]!);
    return amplitude * sum;
  };
}
