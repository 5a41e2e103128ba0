import { describe, expect, it } from 'vitest';
import { CARD_FIGURES, type CardFigureName } from '../../src/boat/boat-card.js';
import { defaultFigures } from '../../src/boat/default-figures.js';
import { makeCard } from '../../src/boat/make-card.js';

const value = (name: CardFigureName): number => defaultFigures(18)[name]!.value;

describe('defaultFigures', () => {
  it('agree with one another: the equation of motion integrated with their thrust and drag gives their times and ways', () => {
    // m dv/dt = T - k v^2, T and k from the top speed and the coasting length alone: L = m/k, T = k vmax^2.
    const vmax = value('topSpeed');
    const length = value('coastLength');
    const dt = 1e-5;
    let v = 0;
    let way = 0;
    let t = 0;
    const reached: Record<string, [number, number]> = {};
    for (const share of [0.63, 0.9, 0.95]) {
      while (v < share * vmax) {
        const before = v;
        v += ((vmax * vmax - v * v) / length) * dt;
        way += ((before + v) / 2) * dt;
        t += dt;
      }
      reached[share] = [t, way];
    }
    expect(value('timeTo63')).toBeCloseTo(reached[0.63]![0], 3);
    expect(value('timeTo90')).toBeCloseTo(reached[0.9]![0], 3);
    expect(value('timeTo95')).toBeCloseTo(reached[0.95]![0], 3);
    expect(value('distanceTo90')).toBeCloseTo(reached[0.9]![1], 3);
  });

  it('lie where boats of this class do (common practice: just under 3 m/s, in about 2 s, two to three days at low speed)', () => {
    expect(value('topSpeed')).toBeGreaterThan(2.5);
    expect(value('topSpeed')).toBeLessThan(3);
    const days = value('batteryEnergy') / (value('hotelPower') + value('powerCoefficient')) / 24;
    expect(days).toBeGreaterThanOrEqual(2);
    expect(days).toBeLessThanOrEqual(3);
    // Electrical power at top speed over thrust power: the propulsion's share, 0.3 to 0.4.
    const thrustN = (18 * value('topSpeed') ** 2) / value('coastLength');
    const share = (thrustN * value('topSpeed')) / (value('powerCoefficient') * value('topSpeed') ** 3);
    expect(share).toBeGreaterThan(0.3);
    expect(share).toBeLessThan(0.4);
  });

  it('are all marked as defaults with a wide worth, and a heavier boat needs more power', () => {
    for (const figure of Object.values(defaultFigures(18))) expect([figure.source, figure.uncertainty95 > 0]).toEqual(['default', true]);
    expect(defaultFigures(36).powerCoefficient!.value).toBeCloseTo(2 * value('powerCoefficient'), 9);
    expect(() => defaultFigures(0)).toThrow(RangeError);
  });
});

describe('makeCard', () => {
  const options = { name: 'Pipit', lengthM: 1.2, massKg: 18, hand: {}, defaults: true };

  it('takes a figure entered by hand over a default, and says which each is', () => {
    const card = makeCard({ ...options, hand: { topSpeed: { value: 2.4, uncertainty95: 0.1 }, spinRate: { value: 70, uncertainty95: null } } });
    expect(card.figures.topSpeed).toMatchObject({ value: 2.4, uncertainty95: 0.1, source: 'hand', unit: 'm/s' });
    expect(card.figures.spinRate).toMatchObject({ value: 70, uncertainty95: NaN, source: 'hand', note: 'its uncertainty is not stated' });
    expect(card.figures.hotelPower?.source).toBe('default');
    expect(card.figures.track95).toBeNull();
  });

  it('names a trial for every figure that is missing or a default, and for no other', () => {
    const card = makeCard({ ...options, hand: { topSpeed: { value: 2.4, uncertainty95: 0.1 } } });
    const named = card.missing.map(({ figure }) => figure);
    expect(named).toEqual((Object.keys(CARD_FIGURES) as CardFigureName[]).filter((name) => name !== 'topSpeed'));
    for (const { trial } of card.missing) expect(trial.length).toBeGreaterThan(10);
  });

  it('refuses a figure that is none, naming those there are', () => {
    expect(() => makeCard({ ...options, hand: { topspeed: { value: 1, uncertainty95: 1 } } })).toThrow(/boat\.hand\.topspeed: no such figure; figures are: topSpeed, timeTo63/);
  });
});
