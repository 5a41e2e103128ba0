import { describe, expect, test } from 'vitest';
import { writeGeoJson } from '../../src/formats/geojson-write.js';
import { writeGpx } from '../../src/formats/gpx-route-write.js';
import { writeKml } from '../../src/formats/kml-write.js';
import { writeLinesCsv } from '../../src/formats/lines-csv.js';
import { fillInPlan } from '../../src/lines/fill-in-plan.js';
import { linesInRunOrder, linesToGeoJson, lonLatLines, planToRoute } from '../../src/lines/plan-output.js';
import { planLines } from '../../src/lines/plan-lines.js';
import { HAVE_SCHEMAS, SCHEMA_NOTE, schemaFaults } from '../formats/xml-schema.js';
import { frame, options, rectangle, X, Y } from './grounds.js';

const plan = planLines({
  area: [rectangle(-100, 0, 200, 60)],
  keepouts: [rectangle(-10, 25, 20, 10)],
  frame,
  options: { ...options, headingDeg: 90, crossShare: 0.05, runInM: 5, runOutM: 3, insetM: 1, launch: { xM: X - 150, yM: Y } },
});

test('lonLatLines: in run order, ends in degrees, length on the ellipsoid (frame length over the scale on the central meridian)', () => {
  const lines = lonLatLines(plan, frame);
  expect(lines.map((line) => line.order)).toEqual(lines.map((_, i) => i + 1));
  expect(lines[0]!.kind).toBe('cross');
  const run = linesInRunOrder(plan);
  lines.forEach((line, i) => {
    // UTM scale on the central meridian: 0.9996.
    expect(line.lengthM * 0.9996).toBeCloseTo(run[i]!.lengthM, 4);
    const [x, y] = frame.toFrame(line.startLatDeg, line.startLonDeg);
    expect(x).toBeCloseTo(run[i]!.startXM, 5);
    expect(y).toBeCloseTo(run[i]!.startYM, 5);
  });
});

test('linesToGeoJson: features with the properties the chart and the report read', () => {
  const text = writeGeoJson(linesToGeoJson(plan, frame));
  const read = JSON.parse(text) as { features: { geometry: { type: string; coordinates: number[][] }; properties: Record<string, unknown> }[] };
  expect(read.features).toHaveLength(plan.main.length + plan.cross.length);
  for (const feature of read.features) {
    expect(feature.geometry.type).toBe('LineString');
    expect(Object.keys(feature.properties)).toEqual(['number', 'kind', 'order', 'headingDeg', 'lengthM', 'runInM', 'runOutM']);
  }
  expect(read.features.map((feature) => feature.properties['order'])).toEqual(read.features.map((_, i) => i + 1));
  expect(writeLinesCsv(lonLatLines(plan, frame)).split('\r\n')).toHaveLength(read.features.length + 2);
});

test('planToRoute: launch, run-in, start, end, run-out of each line and corners about keep-outs, each named, in order', () => {
  const route = planToRoute(plan, frame, 'run 1');
  const names = route.points.map((point) => point.name);
  expect(names[0]).toBe('launch');
  expect(names[names.length - 1]).toBe('launch');
  expect(names.filter((name) => name.endsWith('start'))).toHaveLength(plan.main.length + plan.cross.length);
  expect(names[1]).toMatch(/^C\d+ run-in$/);
  // The route is the run: its legs add up to lines, run-ins, run-outs and transit.
  let sum = 0;
  for (let i = 1; i < route.points.length; i++) {
    const a = frame.toFrame(route.points[i - 1]!.latDeg, route.points[i - 1]!.lonDeg);
    const b = frame.toFrame(route.points[i]!.latDeg, route.points[i]!.lonDeg);
    sum += Math.hypot(b[0] - a[0], b[1] - a[1]);
  }
  expect(sum).toBeCloseTo(plan.lengths.totalM, 3);
});

describe.skipIf(!HAVE_SCHEMAS)(`schemas${SCHEMA_NOTE}`, () => {
  test('a plan as GPX 1.1 and as KML 2.2 is valid', () => {
    expect(schemaFaults('gpx11.xsd', writeGpx({ name: 'plan', routes: [planToRoute(plan, frame, 'run 1')] }))).toBe('');
    expect(schemaFaults('ogckml22.xsd', writeKml('plan', [{ name: 'lines', nameProperty: 'number', features: linesToGeoJson(plan, frame) }]))).toBe('');
  });
});

test('fillInPlan: given lines in a short order, around a keep-out, with room for their run-ins', () => {
  const line = (x: number, y: number, lengthM: number): Float64Array => Float64Array.of(X + x, Y + y, X + x + lengthM, Y + y);
  const keepout = rectangle(100, -20, 10, 40);
  const made = fillInPlan({ lines: [line(0, 0, 97), line(300, 0, 50), line(113, 0, 100)], keepouts: [keepout], frame, options: { runInM: 5, runOutM: 5, speedMps: 2 } });
  expect(made.main.map((run) => [run.number, run.kind])).toEqual([[1, 'fill-in'], [2, 'fill-in'], [3, 'fill-in']]);
  // End to end along the row, one way or the other.
  expect([[1, 3, 2], [2, 3, 1]]).toContainEqual(made.order);
  const first = made.main[0]!;
  // 3 m from its end to the keep-out, a centimetre short of touching.
  expect(Math.min(first.runInM, first.runOutM)).toBeCloseTo(2.99, 2);
  expect(made.transits.some((transit) => transit.path.length > 4)).toBe(true);
  expect(made.lengths.mainM).toBeCloseTo(247, 9);
  expect(made.why[0]).toMatch(/^3 fill-in lines, 247 m, about \d+ min with transit and turns$/);
  expect(planToRoute(made, frame, 'fill-in').points[1]!.name).toMatch(/^F[12] start$/);
});

test('fillInPlan: none, a line of no length, a line into a keep-out', () => {
  const given = { keepouts: [rectangle(-10, -10, 20, 20)], frame, options: { runInM: 0, runOutM: 0, speedMps: 2 } };
  expect(fillInPlan({ ...given, lines: [] }).order).toEqual([]);
  expect(() => fillInPlan({ ...given, lines: [Float64Array.of(1, 1, 1, 1)] })).toThrow('lines[0]: expected two different ends');
  expect(() => fillInPlan({ ...given, lines: [Float64Array.of(X - 50, Y, X + 50, Y)] })).toThrow('fill-in line 1: enters a keep-out: expected it clear of them; make the lines again from the gaps');
});
