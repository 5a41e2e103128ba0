import { createRandom } from '../src/base/random.js';
import { boundsOfPolygons, pointInPolygon, pointInPolygons } from '../src/geo/ring.js';
import { segmentPolygonDistanceM } from '../src/geo/segment.js';
import type { Polygon } from '../src/geo/shapes.js';
import type { SurveyLine, Transit } from '../src/lines/line-plan.js';
import { runEnds } from '../src/lines/line-plan.js';

/** Points dropped on an area, at least. */
const POINTS = 60_000;

/** Share of the water to be surveyed (the area less holes and keep-outs) that lies within half a spacing abreast of some line, by points. */
export function coveredShare(area: Polygon, keepouts: readonly Polygon[], lines: readonly SurveyLine[], spacingM: number): number {
  const box = boundsOfPolygons([area]);
  const random = createRandom(5);
  const cellM = Math.sqrt(((box.eastM - box.westM) * (box.northM - box.southM)) / POINTS);
  const laid = lines.map((line) => ({ x: line.startXM, y: line.startYM, ux: (line.endXM - line.startXM) / line.lengthM, uy: (line.endYM - line.startYM) / line.lengthM, lengthM: line.lengthM }));
  // Lines by strips of the box, so that a point asks only those near it.
  const strips = 64;
  const heightM = (box.northM - box.southM) / strips;
  const near: (typeof laid)[] = Array.from({ length: strips }, () => []);
  for (const line of laid) {
    const low = Math.min(line.y, line.y + line.uy * line.lengthM) - spacingM;
    const high = Math.max(line.y, line.y + line.uy * line.lengthM) + spacingM;
    for (let k = Math.max(0, Math.floor((low - box.southM) / heightM)); k <= Math.min(strips - 1, Math.floor((high - box.southM) / heightM)); k++) near[k]!.push(line);
  }
  let wanted = 0;
  let covered = 0;
  for (let y = box.southM + cellM / 2; y < box.northM; y += cellM) {
    for (let x = box.westM + cellM / 2; x < box.eastM; x += cellM) {
      const px = x + cellM * (random.uniform() - 0.5);
      const py = y + cellM * (random.uniform() - 0.5);
      if (!pointInPolygon(area, px, py) || pointInPolygons(keepouts, px, py)) continue;
      wanted++;
      const strip = near[Math.min(strips - 1, Math.max(0, Math.floor((py - box.southM) / heightM)))]!;
      const hit = strip.some((line) => {
        const along = (px - line.x) * line.ux + (py - line.y) * line.uy;
        const off = Math.abs((px - line.x) * line.uy - (py - line.y) * line.ux);
        return off <= spacingM * 0.5 + 1e-9 && along >= -1e-9 && along <= line.lengthM + 1e-9;
      });
      if (hit) covered++;
    }
  }
  return covered / wanted;
}

/** The nearest any run or transit comes to a keep-out or hole [m]; 0 where one enters. */
export function nearestKeepoutM(blocked: readonly Polygon[], lines: readonly SurveyLine[], transits: readonly Transit[]): number {
  let nearest = Infinity;
  const look = (ax: number, ay: number, bx: number, by: number): void => {
    for (const polygon of blocked) nearest = Math.min(nearest, segmentPolygonDistanceM(polygon, ax, ay, bx, by));
  };
  for (const line of lines) {
    const run = runEnds(line);
    look(run.fromXM, run.fromYM, run.toXM, run.toYM);
  }
  for (const { path } of transits) for (let i = 0; i + 3 < path.length; i += 2) look(path[i]!, path[i + 1]!, path[i + 2]!, path[i + 3]!);
  return nearest;
}
