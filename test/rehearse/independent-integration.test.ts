import { describe, expect, it } from 'vitest';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import { constantCurrent, type CurrentField } from '../../src/water/current-field.js';
import { integrateFinely } from './fine-integration.js';
import { leg, linesSortie, plainBoat, sortieOf } from './plain-sortie.js';

const START_S = 1.7e9;

/** A stream that turns within the hour and runs harder to the east. */
const SHEARED: CurrentField = {
  at(xM, yM, timeS, out) {
    const strength = 0.4 * Math.sin((2 * Math.PI * (timeS - START_S)) / 3000 + 0.5) * (1 + 0.002 * xM);
    out[0] = 0.6 * strength;
    out[1] = 0.8 * strength + 0.0001 * yM;
    out[2] = 0.02;
  },
  startS: -Infinity,
  endS: Infinity,
  maxMps: 1,
  source: 'test',
};
const zigzag = sortieOf([
  leg('launch', 1, 2, 0, 0, 40, 30),
  leg('line', 1, 1.2, 40, 30, 45, 180, 90, 240),
  leg('turn', 2, 0.9, 90, 240, 120, 250, 130, 220),
  leg('line', 2, 2.4, 130, 220, 100, 20),
  leg('home', null, 1.6, 100, 20, 0, 0),
]);
const currents = { 'still water': constantCurrent(0, 0, 0), 'a steady current': constantCurrent(0.35, -0.5, 0.02), 'a current that turns and shears': SHEARED };
const boats = {
  'a quick boat': plainBoat(),
  'a slow turner': plainBoat({ yawTS: 1.4, turnDiameterM: (v) => 6 + 2 * v, spinRateDegps: 25, turnSpeedKept: () => 0.7 }),
  'a heavy boat': plainBoat({ coastLengthM: 12, tauS: 12 / 2.8, yawTS: 0.8, asternShare: 0.4, turnSpeedKept: (v) => 0.9 - 0.05 * v }),
};

describe('rehearseSortie against Runge-Kutta of the same equations, 0.01 s: end time within 0.5 %, energy within 1 %', () => {
  for (const [boatName, boat] of Object.entries(boats)) {
    for (const [currentName, current] of Object.entries(currents)) {
      for (const turning of ['on-the-go', 'stop-and-turn'] as const) {
        for (const [name, sortie] of [['four lines', linesSortie(4, 120, 15, 1.4)], ['legs of many kinds', zigzag]] as const) {
          it(`${boatName} in ${currentName}, ${turning}, ${name}`, () => {
            const steering = { turning, acceptanceM: 2, lookAheadM: 7, turnSpeedMps: turning === 'on-the-go' ? 0.8 : null };
            const fine = integrateFinely(sortie, boat, current, START_S, steering);
            const { totals, stopped } = rehearseSortie({ sortie, boat, startS: START_S, current, options: steering });
            expect(stopped).toBeNull();
            expect(Math.abs(totals.timeS / fine.timeS - 1), `${totals.timeS} s against ${fine.timeS} s`).toBeLessThan(0.005);
            expect(Math.abs(totals.energyWh / fine.energyWh - 1), `${totals.energyWh} Wh against ${fine.energyWh} Wh`).toBeLessThan(0.01);
          });
        }
      }
    }
  }
});
