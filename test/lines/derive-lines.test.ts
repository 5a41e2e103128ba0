import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { derivedLineOptions, deriveLines } from '../../src/lines/derive-lines.js';
import { depthOverArea } from '../../src/lines/known-depth.js';
import type { KnownDepth, Objective, Sensor } from '../../src/lines/objective.js';
import { chanceOfFinding, coverageForChance, erf, footprintM, pingPeriodS, spacingForFolds, speedForHitsMps } from '../../src/lines/objective-formulas.js';
import { boat } from './boats.js';

const beam: Sensor = { kind: 'single-beam', beamDeg: 8, pingHz: 10, draftM: 0.2 };
const fan: Sensor = { kind: 'swath', swathDeg: 120, beamDeg: 1.5, pingHz: 15, draftM: 0.2 };
const side: Sensor = { kind: 'side-scan', beamDeg: 1.5, mostRangeM: 150, heightM: null, draftM: 0, soundMps: 1500 };
const at = (depthM: number): KnownDepth => ({ kind: 'number', depthM });

describe('objective formulas', () => {
  it('speedForHitsMps: 3 m object 4.57 m/s and 1 m object 2.067 m/s, five hits, 0.2 s, 1.5 deg at 25 m (IHO C-13 ch. 4)', () => {
    expect(pingPeriodS(150, 1500)).toBeCloseTo(0.2, 12);
    expect((25 * 1.5 * Math.PI) / 180).toBeCloseTo(0.6545, 4);
    expect(speedForHitsMps(3, 5, 0.2, 1.5, 25)).toBeCloseTo(4.57, 2);
    expect(Math.abs(speedForHitsMps(1, 5, 0.2, 1.5, 25) - 2.067)).toBeLessThan(0.0015);
  });

  it('chanceOfFinding: Koopman\'s three laws at C 0.25 to 2 (check-values.json, search_pod)', () => {
    const coverages = [0.25, 0.5, 0.75, 1, 1.5, 2];
    const table = {
      random: [0.2212, 0.3935, 0.5276, 0.6321, 0.7769, 0.8647],
      'inverse-cube': [0.246, 0.4691, 0.6528, 0.7899, 0.9399, 0.9878],
      definite: [0.25, 0.5, 0.75, 1, 1, 1],
    } as const;
    for (const law of ['random', 'inverse-cube', 'definite'] as const) {
      coverages.forEach((coverage, i) => {
        // The table is rounded to four places; one value of it (0.6528) by one more.
        expect(Math.abs(chanceOfFinding(coverage, law) - table[law][i]!)).toBeLessThan(1e-4);
      });
    }
    for (const law of ['random', 'inverse-cube', 'definite'] as const) {
      for (const chance of [0.05, 0.5, 0.9, 0.99]) expect(chanceOfFinding(coverageForChance(chance, law), law)).toBeCloseTo(chance, 9);
    }
  });

  it('erf: as tabled (Abramowitz & Stegun table 7.1)', () => {
    expect(erf(0.5)).toBeCloseTo(0.5204998778, 10);
    expect(erf(1)).toBeCloseTo(0.8427007929, 10);
    expect(erf(2)).toBeCloseTo(0.995322265, 9);
    expect(erf(2.6)).toBeCloseTo(0.9997639656, 10);
    expect(erf(-1)).toBeCloseTo(-0.8427007929, 10);
  });

  it('footprintM: 2 d tan(beam / 2)', () => {
    expect(footprintM(10, 90)).toBeCloseTo(20, 9);
  });

  it('spacingForFolds: every place is seen often enough, by counting on a fine grid; and not at 3 % more', () => {
    fc.assert(
      fc.property(fc.double({ min: 10, max: 100, noNaN: true }), fc.double({ min: 0.02, max: 0.4, noNaN: true }), fc.integer({ min: 1, max: 4 }), (far, gap, folds) => {
        const least = (spacing: number): number => {
          let fewest = Infinity;
          for (let k = 0; k < 997; k++) {
            const y = ((k + 0.5) / 997) * spacing;
            let count = 0;
            for (let i = -40; i <= 40; i++) {
              const off = Math.abs(y - i * spacing);
              if (off >= gap * far && off <= far) count++;
            }
            fewest = Math.min(fewest, count);
          }
          return fewest;
        };
        const spacing = spacingForFolds(gap * far, far, folds);
        for (const share of [1 - 1e-6, 0.97, 0.9, 0.71, 0.4]) expect(least(spacing * share)).toBeGreaterThanOrEqual(folds);
        // The widest of that kind: somewhere within 3 % more it no longer holds.
        expect(Math.min(...[0.004, 0.008, 0.015, 0.03].map((more) => least(spacing + more * far)))).toBeLessThan(folds);
      }),
      { seed: 21, numRuns: 60 },
    );
    expect(spacingForFolds(5, 50, 1)).toBeCloseTo(50, 0);
  });
});

describe('deriveLines', () => {
  it('deriveLines: Order 1b at most the larger of 3 x depth and 25 m, at the shallowest', () => {
    const order: Objective = { kind: 'depths-order', order: '1b' };
    expect(deriveLines(order, beam, at(5), null).spacingM.value).toBe(25);
    expect(deriveLines(order, beam, at(20), null).spacingM.value).toBe(60);
    const points: KnownDepth = { kind: 'points', xM: Float64Array.of(0, 100, 200), yM: Float64Array.of(0, 100, 0), depthM: Float64Array.of(12, NaN, 30) };
    const derived = deriveLines(order, beam, points, null);
    expect(derived.spacingM.value).toBe(36);
    expect(derived.spacingAtM!(200, 0)).toBe(90);
    expect(deriveLines(order, beam, at(5), null).notes.join()).toMatch(/the beam then sees 2\.\d % of the bottom/);
  });

  it('deriveLines: full orders fit the swath, twice for Exclusive; one beam is told to search by other means', () => {
    const full = deriveLines({ kind: 'depths-order', order: 'special' }, fan, at(10), boat());
    const width = 2 * 9.8 * Math.tan(Math.PI / 3);
    expect(full.spacingM.value).toBeCloseTo(0.9 * width - Math.SQRT2 * 0.8, 6);
    const twice = deriveLines({ kind: 'depths-order', order: 'exclusive' }, fan, at(10), boat());
    expect(twice.spacingM.value).toBeCloseTo((width - Math.SQRT2 * 0.8) / 2, 6);
    // 1 m cube, three pings at 15 a second: (1 + Bw) / (2/15).
    expect(full.speedMps.value).toBeCloseTo(0.75 * 2.8, 6);
    const one = deriveLines({ kind: 'depths-order', order: '1a' }, beam, at(10), boat());
    expect(one.notes.join()).toMatch(/run a side-scan or a fan over the area as well/);
    // S-44 table 1 leaves depths of Order 1a up to 100 %; below full coverage the larger of 3 x depth and 25 m (C-13).
    expect(one.spacingM.value).toBe(30);
    expect(full.crossShare.value).toBe(0.05);
  });

  it('deriveLines: a chart at 1 : 5000 has lines 50 m apart', () => {
    expect(deriveLines({ kind: 'depths-scale', scale: 5000 }, beam, at(8), null).spacingM.value).toBe(50);
  });

  it('deriveLines: in 5 m of water a side-scan on the hull sees about 50 m a side', () => {
    const derived = deriveLines({ kind: 'imagery', rangeM: null, folds: 1, objectM: 1, hits: 5 }, side, at(5), boat());
    expect(derived.rangeM.value).toBeCloseTo(50, 9);
    expect(derived.spacingM.value).toBeGreaterThan(45);
    expect(derived.spacingM.value).toBeLessThan(50);
  });

  it('deriveLines: the speed that five hits allow holds the boat back where it is the lesser', () => {
    const slow = deriveLines({ kind: 'imagery', rangeM: 150, folds: 1, objectM: 0.3, hits: 5 }, { ...side, heightM: 15, nadirShare: 0.5 }, at(15), boat());
    const nearest = Math.hypot(7.5, 15);
    expect(slow.speedMps.value).toBeCloseTo((0.3 + (nearest * 1.5 * Math.PI) / 180) / 0.8, 9);
    expect(slow.speedMps.source).toMatch(/C-13/);
  });

  it('deriveLines: objects with a chance of 78.99 % by the inverse cube law lie one sweep width apart', () => {
    const derived = deriveLines({ kind: 'objects', sizeM: 2, chance: erf(Math.sqrt(Math.PI) / 2), law: 'inverse-cube', hits: 3 }, { ...side, heightM: 10 }, at(10), boat());
    const far = Math.sqrt(derived.rangeM.value ** 2 - 100);
    expect(derived.spacingM.value).toBeCloseTo(2 * (far - 5) * 0.9, 6);
    // The beam is as wide as the object at 76 m; the height allows 100 m.
    expect(derived.rangeM.value).toBeCloseTo(2 / ((1.5 * Math.PI) / 180), 9);
  });

  it('deriveLines: a locked value stays, what hangs on it follows, and what it breaks is said', () => {
    const objective: Objective = { kind: 'imagery', rangeM: null, folds: 1, objectM: 1, hits: 5 };
    const locked = deriveLines(objective, side, at(5), boat(), { locks: { rangeM: 30, speedMps: 9, spacingM: 200 } });
    expect(locked.rangeM).toMatchObject({ value: 30, locked: true });
    expect(locked.speedMps).toMatchObject({ value: 9, locked: true });
    expect(locked.notes.join('\n')).toMatch(/spacing 200 m as set is wider than/);
    expect(locked.notes.join('\n')).toMatch(/speed 9 m\/s as set is more than/);
    const followed = deriveLines(objective, side, at(5), boat(), { locks: { rangeM: 30 } });
    expect(followed.spacingM.value).toBeLessThan(30);
    expect(followed.spacingM.locked).toBe(false);
  });

  it('deriveLines: lines across the contours for one beam, along them for a fan; turned by the convergence', () => {
    const xs: number[] = [];
    const ys: number[] = [];
    const ds: number[] = [];
    for (let x = 0; x < 20; x++) for (let y = 0; y < 20; y++) {
      xs.push(x * 10);
      ys.push(y * 10);
      ds.push(5 + x * 0.2 + y * 0.2);
    }
    const slope: KnownDepth = { kind: 'points', xM: Float64Array.from(xs), yM: Float64Array.from(ys), depthM: Float64Array.from(ds) };
    expect(depthOverArea(slope).downslopeDeg).toBeCloseTo(45, 6);
    expect(depthOverArea(slope).slope).toBeCloseTo(Math.hypot(0.02, 0.02), 6);
    expect(deriveLines({ kind: 'depths-order', order: '1b' }, beam, slope, null).headingDeg.value).toBeCloseTo(45, 6);
    expect(deriveLines({ kind: 'depths-order', order: '1a' }, fan, slope, null, { convergenceDeg: 1 }).headingDeg.value).toBeCloseTo(136, 6);
    expect(derivedLineOptions(deriveLines({ kind: 'depths-order', order: '1b' }, beam, at(5), null)).headingDeg).toBeNull();
  });

  it('deriveLines: the depth of a raster is read where it lies, north row first', () => {
    const raster: KnownDepth = { kind: 'raster', raster: { grid: { westM: 0, northM: 20, cellM: 10, cols: 2, rows: 2 }, values: Float32Array.of(10, 20, 30, NaN) } };
    const depth = depthOverArea(raster);
    expect([depth.at!(5, 15), depth.at!(15, 15), depth.at!(5, 5), depth.at!(15, 5), depth.at!(25, 5)]).toEqual([10, 20, 30, NaN, NaN]);
    expect([depth.shallowestM, depth.deepestM]).toEqual([10, 30]);
  });

  it('deriveLines: every value of every objective has a reason and a source, and bad figures are named', () => {
    const objectives: Objective[] = [
      { kind: 'depths-order', order: 'exclusive' },
      { kind: 'depths-scale', scale: 2000 },
      { kind: 'imagery', rangeM: 40, folds: 2, objectM: 1, hits: 3 },
      { kind: 'objects', sizeM: 1, chance: 0.9, law: 'random', hits: 3 },
      { kind: 'vegetation', patchM: 10, pingsPerM: 5 },
      { kind: 'gaps', spacingM: 20 },
      { kind: 'own' },
    ];
    for (const objective of objectives) {
      const derived = deriveLines(objective, objective.kind === 'imagery' ? side : beam, at(6), boat());
      for (const name of ['spacingM', 'rangeM', 'speedMps', 'headingDeg', 'crossShare', 'runInM', 'runOutM'] as const) {
        expect(derived[name].why.length).toBeGreaterThan(5);
        expect(derived[name].source.length).toBeGreaterThan(3);
      }
      if (objective.kind !== 'own') expect(derived.spacingM.value).toBeGreaterThan(0);
      expect(derived.speedMps.value).toBeGreaterThan(0);
    }
    expect(() => deriveLines({ kind: 'depths-scale', scale: 0 }, beam, at(5), null)).toThrow('scale 0: expected 1 or more');
    expect(() => deriveLines({ kind: 'own' }, beam, at(-2), null)).toThrow('depthM -2: expected more than 0');
    expect(() => deriveLines({ kind: 'objects', sizeM: 1, chance: 1, law: 'random', hits: 3 }, beam, at(5), null)).toThrow(/chance 1: expected more than 0 and less than 1/);
    expect(() => deriveLines({ kind: 'imagery', rangeM: 40, folds: 1, objectM: 1, hits: 3 }, beam, at(5), null)).toThrow(/expected a side-scan/);
  });
});
