import { expect, test } from 'vitest';
import { UseError } from '../../src/base/errors.js';
import { frameSettingForArea, polygonsFromLonLat, polygonToLonLat } from '../../src/geo/area-polygons.js';
import { createFrame } from '../../src/geo/frame.js';
import type { LonLatPolygon } from '../../src/geo/lon-lat.js';
import { closedLonLatRing, positionInWords } from '../../src/geo/lon-lat.js';
import { checkedPolygon, firstCrossing } from '../../src/geo/polygon-check.js';
import { signedRingAreaM2 } from '../../src/geo/ring.js';

const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
const ring = (...lonLat: number[]): LonLatPolygon => ({ outer: Float64Array.from(lonLat), holes: [] });
const read = (polygon: LonLatPolygon): unknown => polygonsFromLonLat([polygon], frame, 'area');

test('polygonsFromLonLat: a polygon comes back to its own degrees, counter-clockwise', () => {
  const clockwise = ring(-30, 46, -30, 46.01, -29.99, 46.01, -29.99, 46);
  const [polygon] = polygonsFromLonLat([clockwise], frame, 'area');
  expect(signedRingAreaM2(polygon!.outer)).toBeGreaterThan(0);
  const back = [...polygonToLonLat(polygon!, frame).outer];
  // A millimetre is 1e-8 degrees.
  expect(back.map((degrees) => Math.round(degrees * 1e8) / 1e8).sort()).toEqual([...clockwise.outer].sort());
});

test('polygonsFromLonLat: an outline that crosses itself is refused with the place of the crossing', () => {
  const bowTie = ring(-30, 46, -29.99, 46.01, -29.99, 46, -30, 46.01);
  expect(() => read(bowTie)).toThrow(UseError);
  expect(() => read(bowTie)).toThrow('area: its edge crosses itself at 46.00500 N 029.99500 W: expected an outline that does not; move or delete a corner near there');
});

test('polygonsFromLonLat: no area, too few corners, no numbers', () => {
  expect(() => read(ring(-30, 46, -29.99, 46))).toThrow('area: has too few corners at 46.00000 N 030.00000 W: expected at least 3 different ones, found 2; add corners');
  expect(() => read(ring(-30, 46, -30, 46, -29.99, 46, -30, 46))).toThrow('found 2; add corners');
  expect(() => read(ring())).toThrow('area: has too few corners: expected at least 3 different ones, found 0; add corners');
  expect(() => read(ring(-27, 46, -27, 46.01, -27, 46.005))).toThrow(/^area: encloses no area: expected more than 0 m2, found 0\.000 m2; draw corners that are not on one line$/);
  expect(() => checkedPolygon({ outer: Float64Array.of(0, 0, NaN, 5, 5, 5), holes: [] }, 'keep-out 3', frame)).toThrow(
    'keep-out 3: corner 2 is not a place: expected numbers, found NaN, 5; give the corner again or delete it',
  );
});

test('polygonsFromLonLat: off the world and across the antimeridian', () => {
  expect(() => read(ring(46, -130, 46.01, -130, 46.01, -130.01))).toThrow(
    'area: corner 1 is not on the world: expected latitude -90 to 90 and longitude -180 to 180, found latitude -130, longitude 46; see whether latitude and longitude are swapped, or whether it is in metres',
  );
  expect(() => read(ring(-30, NaN, -29, 46, -29, 47))).toThrow('is not on the world');
  expect(() => read(ring(179.9, 10, -179.9, 10, -179.9, 10.1, 179.9, 10.1))).toThrow(
    'area: crosses the antimeridian at 10.00000 N 179.90000 E: expected all of it on one side of longitude 180; cut it there and survey the two parts in two folders',
  );
});

test('checkedPolygon: a hole outside, a hole across the edge', () => {
  const outer = Float64Array.of(5e5, 5e6, 5e5 + 100, 5e6, 5e5 + 100, 5e6 + 100, 5e5, 5e6 + 100);
  const hole = (x: number): Float64Array => Float64Array.of(5e5 + x, 5e6 + 40, 5e5 + x + 20, 5e6 + 40, 5e5 + x + 20, 5e6 + 60, 5e5 + x, 5e6 + 60);
  expect(checkedPolygon({ outer, holes: [hole(40)] }, 'area', frame).holes).toHaveLength(1);
  // A hole that touches the outline with a corner, the first: as outlines of cells do.
  const touching = Float64Array.of(5e5, 5e6 + 50, 5e5 + 20, 5e6 + 40, 5e5 + 20, 5e6 + 60);
  expect(checkedPolygon({ outer, holes: [touching] }, 'area', frame).holes).toHaveLength(1);
  expect(() => checkedPolygon({ outer, holes: [hole(200)] }, 'area', frame)).toThrow(/^area, hole 1: lies outside the polygon at \d\d\.\d{5} N 0\d\d\.\d{5} W: expected holes inside it; delete the hole or draw it as a polygon of its own$/);
  expect(() => checkedPolygon({ outer, holes: [hole(90)] }, 'area', frame)).toThrow('area: its edge crosses itself at');
});

test('firstCrossing: found among many edges, and none in a long clean outline', () => {
  const n = 5000;
  const circle = Float64Array.from({ length: 2 * n }, (_, i) => {
    const angle = (2 * Math.PI * Math.floor(i / 2)) / n;
    return 1000 * (i % 2 === 0 ? Math.cos(angle) : Math.sin(angle));
  });
  expect(firstCrossing([circle])).toBeNull();
  const crossed = circle.slice();
  // Corners 100 and 101 change places: edges 99-101 and 100-102 cross between them.
  [crossed[200], crossed[201], crossed[202], crossed[203]] = [circle[202]!, circle[203]!, circle[200]!, circle[201]!];
  const place = firstCrossing([crossed]);
  expect(place).not.toBeNull();
  expect(Math.hypot(place![0] - circle[201 - 1]!, place![1] - circle[201]!)).toBeLessThan(3);
});

test('frameSettingForArea: the zone of the middle; refused beyond UTM', () => {
  expect(frameSettingForArea([ring(-30.2, 46, -29.9, 46, -30, 46.1)], 'area')).toEqual({ kind: 'utm', zone: 25, hemisphere: 'north' });
  expect(frameSettingForArea([ring(-29.9, -1, -29.8, -1, -29.8, -2)], 'area')).toEqual({ kind: 'utm', zone: 26, hemisphere: 'south' });
  expect(() => frameSettingForArea([ring(0, 84.5, 1, 84.5, 1, 84.6)], 'area')).toThrow('area: reaches latitude 84.6: expected -80 to 84, where the survey frame (UTM) is defined');
  expect(() => frameSettingForArea([], 'area')).toThrow('polygons: expected at least one');
});

test('positionInWords and closedLonLatRing', () => {
  expect(positionInWords(-5.5, 7.25)).toBe('05.50000 S 007.25000 E');
  expect(positionInWords(NaN, 3)).toBe('latitude NaN, longitude 3');
  const square = Float64Array.of(0, 0, 0, 1, 1, 1, 1, 0);
  expect([...closedLonLatRing(square, false)]).toEqual([0, 0, 0, 1, 1, 1, 1, 0, 0, 0]);
  expect([...closedLonLatRing(square, true)]).toEqual([0, 0, 1, 0, 1, 1, 0, 1, 0, 0]);
  expect(closedLonLatRing(Float64Array.of(), true).length).toBe(0);
});

test('checkedPolygon: a hole that touches the outline at its first corner is inside, one that touches it from without is not', () => {
  const outer = Float64Array.of(5e5, 5e6, 5e5 + 100, 5e6, 5e5 + 100, 5e6 + 100, 5e5, 5e6 + 100);
  const diamond = (x: number, side: number): Float64Array => Float64Array.of(5e5 + x, 5e6 + 50, 5e5 + x + side * 10, 5e6 + 40, 5e5 + x + side * 20, 5e6 + 50, 5e5 + x + side * 10, 5e6 + 60);
  // On each edge in turn: a test of the touching corner alone says inside for some edges and outside for others.
  for (const [x, side] of [[100, -1], [0, 1]] as const) expect(checkedPolygon({ outer, holes: [diamond(x, side)] }, 'area', frame).holes).toHaveLength(1);
  for (const [x, side] of [[100, 1], [0, -1]] as const) expect(() => checkedPolygon({ outer, holes: [diamond(x, side)] }, 'area', frame)).toThrow(/^area, hole 1: lies outside the polygon/);
});
