import { describe, expect, it } from 'vitest';
import { createFrame } from '../../src/geo/frame.js';
import { demoSurvey, proveSurvey } from '../../src/proving/index.js';

const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });

interface Collection {
  features: { properties: { name: string }; geometry: { type: string; coordinates: [number, number][][] } }[];
}

function rings(text: string): [number, number][][] {
  return (JSON.parse(text) as Collection).features.map(({ geometry }) => geometry.coordinates[0]!.map(([lon, lat]) => frame.toFrame(lat, lon)));
}

/** Positive for counter-clockwise [m2]. */
function signedArea(ring: readonly [number, number][]): number {
  let sum = 0;
  for (let i = 0; i + 1 < ring.length; i++) sum += ring[i]![0] * ring[i + 1]![1] - ring[i + 1]![0] * ring[i]![1];
  return sum / 2;
}

function inside(ring: readonly [number, number][], x: number, y: number): boolean {
  let hit = false;
  for (let i = 0; i + 1 < ring.length; i++) {
    const [ax, ay] = ring[i]!;
    const [bx, by] = ring[i + 1]!;
    if (ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax)) hit = !hit;
  }
  return hit;
}

describe('the place', () => {
  const survey = demoSurvey();

  it('lies in open ocean near 46 N 30 W, in UTM 26 N, and says that it is invented', () => {
    expect(survey.settings).toMatchObject({ name: 'Hollin Sound', invented: true, frame: { kind: 'utm', zone: 26, hemisphere: 'north' } });
    expect(survey.launch.latDeg).toBeCloseTo(46.036, 2);
    expect(survey.launch.lonDeg).toBeCloseTo(-29.965, 2);
  });

  it('polygons: closed, counter-clockwise, longitude first (RFC 7946 3.1.6), without a crossing of their own', () => {
    for (const place of ['plan/area.geojson', 'plan/keepouts.geojson', 'plan/shore.geojson']) {
      for (const ring of rings(survey.files[place]!)) {
        expect(ring[0]).toEqual(ring[ring.length - 1]);
        expect(signedArea(ring)).toBeGreaterThan(500);
      }
    }
    const [area] = rings(survey.files['plan/area.geojson']!);
    expect(signedArea(area!)).toBeGreaterThan(80_000);
    expect(signedArea(area!)).toBeLessThan(150_000);
  });

  it('shore: at high water, land inside and water outside; base on land, launch afloat', () => {
    const [north, headland] = rings(survey.files['plan/shore.geojson']!);
    for (const [index, ring] of [north!, headland!].entries()) {
      for (const [x, y] of index === 0 ? ring.filter(([, y]) => y < 5_102_560) : ring) expect(survey.floor.depthM(x, y)).toBeCloseTo(-3.4, 1);
    }
    expect(inside(north!, survey.base.xM, survey.base.yM)).toBe(true);
    expect(inside(north!, survey.launch.xM, survey.launch.yM)).toBe(false);
    expect(survey.floor.depthM(survey.launch.xM, survey.launch.yM)).toBeGreaterThan(0);
  });

  it('areas: afloat at low water everywhere but at the rock, which the keep-out holds', () => {
    for (const size of ['short', 'demo', 'day'] as const) {
      const sized = proveSurvey(1, size);
      const [area] = rings(sized.files['plan/area.geojson']!);
      const [rock] = rings(sized.files['plan/keepouts.geojson']!);
      for (let x = 270_100; x < 271_020; x += 6) {
        for (let y = 5_102_040; y < 5_102_360; y += 6) {
          if (inside(area!, x, y) && !inside(rock!, x, y)) expect(sized.floor.depthM(x, y)).toBeGreaterThan(0.8);
        }
      }
    }
  });

  it('own lines: parallel, at most the spacing apart, inside the area but for their ends, clear of the rock', () => {
    const lines = survey.ownLines();
    const [rock] = rings(survey.files['plan/keepouts.geojson']!);
    const heights = [...new Set(lines.filter(({ path }) => path[1] === path[3]).map(({ path }) => path[1]!))].sort((a, b) => a - b);
    for (let i = 1; i < heights.length; i++) expect(heights[i]! - heights[i - 1]!).toBeLessThanOrEqual(10.001);
    for (const { path } of lines) {
      for (let share = 0; share <= 1; share += 0.01) {
        const x = path[0]! + share * (path[2]! - path[0]!);
        const y = path[1]! + share * (path[3]! - path[1]!);
        expect(inside(rock!, x, y)).toBe(false);
      }
    }
  });
});
