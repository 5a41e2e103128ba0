import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { askCard, bestSpeedMps, groundSpeedMps, powerW, type BoatQuestion, type BoatReply } from '../../src/boat/ask-card.js';
import type { BoatCard } from '../../src/boat/boat-card.js';
import { makeCard } from '../../src/boat/make-card.js';

const hand = (values: Record<string, readonly [number, number]>): Record<string, { value: number; uncertainty95: number }> =>
  Object.fromEntries(Object.entries(values).map(([name, [value, uncertainty95]]) => [name, { value, uncertainty95 }]));
const MEASURED = hand({ topSpeed: [2.6, 0.06], hotelPower: [9, 0.8], powerCoefficient: [18, 1.2], powerExponent: [2.9, 0.12], batteryEnergy: [1200, 60], coastLength: [3.2, 0.3], stopAstern: [1.5, 0.2] });
const card: BoatCard = makeCard({ name: 'Pipit', lengthM: 1.2, massKg: 18, hand: MEASURED, defaults: false });
const STILL: BoatQuestion = { speedMps: 1.5, courseDeg: 0, currentMps: 0, currentSetDeg: 0, reserveShare: 0.2 };

function answers(reply: BoatReply) {
  if (!reply.can) throw new Error(reply.why);
  return reply.answers;
}

describe('groundSpeedMps', () => {
  it('is the length of the vector sum when the boat steers to hold its course (current triangle by vectors)', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.5, max: 3, noNaN: true }), fc.double({ min: 0, max: 0.49, noNaN: true }), fc.double({ min: 0, max: 360, noNaN: true }), fc.double({ min: 0, max: 360, noNaN: true }), (speed, current, course, set) => {
        const ground = groundSpeedMps(speed, course, current, set);
        // Ground velocity less current is the velocity through the water: its size must be the boat's speed.
        const rad = Math.PI / 180;
        const east = ground * Math.sin(course * rad) - current * Math.sin(set * rad);
        const north = ground * Math.cos(course * rad) - current * Math.cos(set * rad);
        expect(Math.hypot(east, north)).toBeCloseTo(speed, 9);
      }),
      { seed: 1, numRuns: 300 },
    );
  });

  it('is NaN when the current across is as fast as the boat, and less than 0 when it is swept back', () => {
    expect(groundSpeedMps(1, 0, 1, 90)).toBeNaN();
    expect(groundSpeedMps(1, 0, 1.5, 180)).toBeCloseTo(-0.5, 12);
  });
});

describe('bestSpeedMps', () => {
  const values = { topSpeed: 5, hotelPower: 9, powerCoefficient: 18, powerExponent: 2.9, batteryEnergy: 1, coastLength: 1, stopAstern: 1 };

  it('is (P0 / (a (n - 1)))^(1/n) in still water (the zero of d/dv of P(v)/v)', () => {
    expect(bestSpeedMps(values, STILL)).toBeCloseTo((9 / (18 * 1.9)) ** (1 / 2.9), 6);
  });

  it('costs no more than any speed of a fine sweep, whatever the current', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 2, noNaN: true }), fc.double({ min: 0, max: 360, noNaN: true }), (currentMps, currentSetDeg) => {
        const question = { ...STILL, currentMps, currentSetDeg };
        const cost = (v: number): number => {
          const ground = groundSpeedMps(v, 0, currentMps, currentSetDeg);
          return ground > 0 ? powerW(values, v) / ground : Infinity;
        };
        const best = bestSpeedMps(values, question);
        for (let v = 0.1; v <= 5; v += 0.01) expect(cost(best)).toBeLessThanOrEqual(cost(v) * (1 + 1e-9));
      }),
      { seed: 2, numRuns: 60 },
    );
  });

  it('is above the current when it is ahead, and NaN when not even top speed makes way', () => {
    expect(bestSpeedMps(values, { ...STILL, currentMps: 1, currentSetDeg: 180 })).toBeGreaterThan(1.3);
    expect(bestSpeedMps(values, { ...STILL, currentMps: 6, currentSetDeg: 180 })).toBeNaN();
  });
});

describe('askCard', () => {
  it('gives endurance, range and energy worked by hand', () => {
    const got = answers(askCard(card, { ...STILL, currentMps: 0.5, currentSetDeg: 0 }));
    const power = 9 + 18 * 1.5 ** 2.9;
    expect(got.power.value).toBeCloseTo(power, 9);
    expect(got.groundSpeed.value).toBeCloseTo(2, 12);
    expect(got.endurance.value).toBeCloseTo(960 / power, 9);
    expect(got.range.value).toBeCloseTo((960 / power) * 7.2, 9);
    expect(got.energyPerKm.value).toBeCloseTo(power / 7.2, 9);
  });

  it('states uncertainties that 100 000 draws of the card bear out within 10 %', () => {
    const random = createRandom(5);
    const question = { ...STILL, currentMps: 0.4, currentSetDeg: 210, courseDeg: 30 };
    const got = answers(askCard(card, question));
    const draws: Record<'endurance' | 'range' | 'energyPerKm' | 'power', number[]> = { endurance: [], range: [], energyPerKm: [], power: [] };
    const ground = groundSpeedMps(1.5, 30, 0.4, 210);
    for (let i = 0; i < 100_000; i++) {
      const draw = (name: keyof typeof MEASURED): number => MEASURED[name]!.value + (MEASURED[name]!.uncertainty95 / 1.96) * random.normal();
      const power = draw('hotelPower') + draw('powerCoefficient') * 1.5 ** draw('powerExponent');
      const energy = draw('batteryEnergy') * 0.8;
      draws.power.push(power);
      draws.endurance.push(energy / power);
      draws.range.push((energy / power) * 3.6 * ground);
      draws.energyPerKm.push(power / (3.6 * ground));
    }
    for (const [name, all] of Object.entries(draws)) {
      const sorted = all.sort((a, b) => a - b);
      const half = ((sorted[97_500] as number) - (sorted[2500] as number)) / 2;
      expect(got[name as keyof typeof draws].uncertainty95 / half, name).toBeGreaterThan(0.9);
      expect(got[name as keyof typeof draws].uncertainty95 / half, name).toBeLessThan(1.1);
    }
  });

  it('gives the way to rest that the equation of motion gives, from any speed (Runge-Kutta)', () => {
    for (const speedMps of [0.5, 1.5, 2.6]) {
      const got = answers(askCard(card, { ...STILL, speedMps }));
      // dv/dt = -(r vmax^2 + v^2)/L, from the card: the way at top speed gives r.
      const length = 3.2;
      const share = 1 / (Math.exp((2 * 1.5) / length) - 1);
      const rate = (v: number): number => -(share * 2.6 ** 2 + v * v) / length;
      let v = speedMps;
      let way = 0;
      const dt = 1e-4;
      while (v > 0) {
        const k1 = rate(v);
        const k2 = rate(v + (dt / 2) * k1);
        const k3 = rate(v + (dt / 2) * k2);
        const k4 = rate(v + dt * k3);
        const next = v + (dt / 6) * (k1 + 2 * k2 + 2 * k3 + k4);
        way += ((v + Math.max(0, next)) / 2) * dt;
        v = next;
      }
      expect(got.stopAstern.value).toBeCloseTo(way, 3);
    }
  });

  it('says no, and why, when the current is stronger than the boat or the speed above its top', () => {
    expect(askCard(card, { ...STILL, speedMps: 1, currentMps: 1.2, currentSetDeg: 180 })).toMatchObject({ can: false, why: expect.stringMatching(/makes no way on this course: the current of 1\.2 m\/s is stronger; at top speed it would make 1\.40 m\/s/) });
    expect(askCard(card, { ...STILL, currentMps: 3, currentSetDeg: 180 })).toMatchObject({ can: false, why: expect.stringMatching(/even at top speed: wait for it to ease/) });
    expect(askCard(card, { ...STILL, speedMps: 2.7 })).toMatchObject({ can: false, why: expect.stringMatching(/faster than the boat: its top speed is 2\.60 m\/s \(hand\)/) });
  });

  it('says what the card lacks when there are neither trials, hand figures nor defaults', () => {
    const bare = makeCard({ name: '', lengthM: 1.2, massKg: 18, hand: {}, defaults: false });
    expect(askCard(bare, STILL)).toMatchObject({ can: false, why: expect.stringMatching(/the boat card has no topSpeed, hotelPower/) });
  });

  it('marks answers that rest on defaults, and those with a figure of unknown worth', () => {
    const usual = makeCard({ name: '', lengthM: 1.2, massKg: 18, hand: { batteryEnergy: { value: 1000, uncertainty95: null } }, defaults: true });
    const reply = askCard(usual, STILL);
    const got = answers(reply);
    expect(got.power.source).toBe('default');
    expect(got.groundSpeed.source).toBe('hand');
    expect(got.endurance.uncertainty95).toBeNaN();
    expect(reply).toMatchObject({ notes: [expect.stringContaining('not measured on this boat: topSpeed, hotelPower')] });
  });

  it('refuses a senseless question', () => {
    expect(() => askCard(card, { ...STILL, speedMps: 0 })).toThrow('speedMps 0: expected more than 0');
    expect(() => askCard(card, { ...STILL, currentMps: -1 })).toThrow(RangeError);
    expect(() => askCard(card, { ...STILL, reserveShare: 1 })).toThrow(RangeError);
  });
});
