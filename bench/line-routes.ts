import { createFrame } from '../src/geo/frame.js';
import type { Polygon } from '../src/geo/shapes.js';
import { boatTurns } from '../src/lines/boat-turns.js';
import type { LineOptions, LinePlan, SurveyLine, Transit } from '../src/lines/line-plan.js';
import { runEnds } from '../src/lines/line-plan.js';
import { planLines } from '../src/lines/plan-lines.js';
import { linesInRunOrder } from '../src/lines/plan-output.js';
import { routeBound } from '../src/lines/route-bound.js';
import type { TimedLinks } from '../src/lines/timed-links.js';
import { createTimedLinks } from '../src/lines/timed-links.js';
import { exactInTime, orderInTime, orderTimeS } from '../src/lines/timed-order.js';
import { createTransitNetwork } from '../src/lines/transit-network.js';
import { boat } from '../test/lines/boats.js';
import type { BenchResult } from './bench.js';
import type { LineArea } from './line-areas.js';
import { lineAreas } from './line-areas.js';
import { coveredShare, nearestKeepoutM } from './line-measures.js';

const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
const [X, Y] = frame.toFrame(46, -27);
const SPEED_MPS = 1.5;
const CLEARANCE_M = 2;

/** What one area comes to. */
interface RouteFigures {
  readonly kind: LineArea['kind'];
  readonly timeS: number;
  /** Back and forth on one heading, 000 and along the longer side. */
  readonly fixedS: number;
  readonly alongS: number;
  /** No route of the same lines is quicker than this; its own search's share over it. */
  readonly overBound: number;
  /** Over the quickest order of its lines; of twelve of them where they are more. */
  readonly overExact: number;
  /** All of its lines are weighed against the exact optimum. */
  readonly isWhole: boolean;
  readonly covered: number;
  readonly nearestM: number;
}

/** Links between a plan's lines, by the boat's turns and in the area's current. */
function linksOf(one: LineArea, lines: readonly SurveyLine[], horizonS: number): TimedLinks {
  const ends = Float64Array.from(
    lines.flatMap((line) => {
      const run = runEnds(line);
      return [run.fromXM, run.fromYM, run.toXM, run.toYM, run.toXM, run.toYM, run.fromXM, run.fromYM];
    }),
  );
  const home: [number, number] = [one.launch.xM, one.launch.yM];
  const network = createTransitNetwork(blockedOf(one), CLEARANCE_M);
  return createTimedLinks({ ends, network, start: home, finish: home, speedMps: SPEED_MPS, turns: boatTurns(boat(), SPEED_MPS), turnS: 8, current: one.current, startS: 0, horizonS });
}

function blockedOf(one: LineArea): Polygon[] {
  return [...one.keepouts, ...one.area.holes.map((ring): Polygon => ({ outer: ring, holes: [] }))];
}

/** The lines of a plan run level by level, to and fro: the plain serpentine. */
function serpentineS(one: LineArea, plan: LinePlan): number {
  const lines = plan.main.slice().sort((a, b) => a.number - b.number);
  const links = linksOf(one, lines, 4 * plan.time.totalS);
  const first = lines[0]!;
  const [ux, uy] = [(first.endXM - first.startXM) / first.lengthM, (first.endYM - first.startYM) / first.lengthM];
  const across = (line: SurveyLine): number => (line.startXM - first.startXM) * uy - (line.startYM - first.startYM) * ux;
  const along = (x: number, y: number): number => x * ux + y * uy;
  // Stretches of one level together, levels in their order, every other level the other way.
  const levels: number[][] = [];
  let last = NaN;
  const byLevel = lines.map((_, i) => i).sort((a, b) => across(lines[a]!) - across(lines[b]!));
  for (const i of byLevel) {
    if (!(Math.abs(across(lines[i]!) - last) < one.spacingM / 4)) levels.push([]);
    last = across(lines[i]!);
    levels[levels.length - 1]!.push(i);
  }
  const states = levels.flatMap((level, k) => {
    const forward = k % 2 === 0;
    const sorted = level.slice().sort((a, b) => (along(lines[a]!.startXM, lines[a]!.startYM) - along(lines[b]!.startXM, lines[b]!.startYM)) * (forward ? 1 : -1));
    return sorted.map((i) => {
      const line = lines[i]!;
      const isForward = along(line.endXM, line.endYM) > along(line.startXM, line.startYM);
      return 2 * i + (isForward === forward ? 0 : 1);
    });
  });
  // Begun at either end, either way: the best of the four, as anyone would.
  const turned = states.map((state) => state ^ 1);
  return Math.min(...[states, turned, states.slice().reverse().map((state) => state ^ 1), turned.slice().reverse().map((state) => state ^ 1)].map((order) => orderTimeS(links, order)));
}

/** Plans an area and holds the route against what it could be. */
export function routeFigures(one: LineArea): RouteFigures {
  const options: LineOptions = {
    spacingM: one.spacingM, headingDeg: null, crossShare: 0, runInM: 5, runOutM: 5, minLengthM: 1, insetM: 0,
    speedMps: SPEED_MPS, clearanceM: CLEARANCE_M, launch: one.launch, boat: boat(), current: one.current, edges: 'cover', cells: true,
  };
  const plan = (more: Partial<LineOptions>): LinePlan => planLines({ area: [one.area], keepouts: one.keepouts, frame, options: { ...options, ...more } });
  const made = plan({});
  // The serpentines leave the corners at keep-outs out, which is to their favour.
  const plain = { cells: false, boat: null, current: null, launch: null, effort: 'drag' } as const;
  const fixedS = serpentineS(one, plan({ ...plain, headingDeg: 0 }));
  const longer = longerSideDeg(one);
  const alongS = serpentineS(one, plan({ ...plain, headingDeg: longer }));

  const lines = linesInRunOrder(made);
  const links = linksOf(one, lines, 2 * made.time.totalS);
  const ownS = orderTimeS(links, lines.map((_, i) => 2 * i));
  const { boundS } = routeBound(links, ownS);
  return {
    kind: one.kind,
    timeS: made.time.totalS,
    fixedS,
    alongS,
    overBound: ownS / boundS,
    isWhole: lines.length <= 12,
    overExact: lines.length <= 12 ? ownS / exactInTime(links).timeS : searchOverExact(one, lines),
    covered: coveredShare(one.area, one.keepouts, lines, one.spacingM),
    nearestM: nearestKeepoutM(blockedOf(one), lines, made.transits as readonly Transit[]),
  };
}

/** Of more lines than can be weighed: every so many of them, twelve in all, in the search's order and in the quickest. */
function searchOverExact(one: LineArea, lines: readonly SurveyLine[]): number {
  const some = Array.from({ length: 12 }, (_, k) => lines[Math.floor((k * lines.length) / 12)]!);
  const links = linksOf(one, some, 4 * 3600);
  return orderInTime(links, 'full').timeS / exactInTime(links).timeS;
}

/** True heading of the longer side of the least rectangle, on the central meridian, by trying: the extent across is least. */
function longerSideDeg(one: LineArea): number {
  let best = 0;
  let least = Infinity;
  for (let deg = 0; deg < 180; deg++) {
    const [vx, vy] = [Math.cos((deg * Math.PI) / 180), -Math.sin((deg * Math.PI) / 180)];
    let low = Infinity;
    let high = -Infinity;
    for (let i = 0; i < one.area.outer.length; i += 2) {
      const across = one.area.outer[i]! * vx + one.area.outer[i + 1]! * vy;
      low = Math.min(low, across);
      high = Math.max(high, across);
    }
    if (high - low < least) {
      least = high - low;
      best = deg;
    }
  }
  return best;
}

/** Rows of the results: the sixty areas' route times, coverage and keep-outs. */
export function routeQuality(each = 15): BenchResult[] {
  const figures = lineAreas(X, Y, 20, each).map(routeFigures);
  const row = (name: string, values: readonly number[], budget: string, met: boolean, peer: BenchResult['peer'] = null, ratio: number | null = null): BenchResult => {
    const sorted = values.slice().sort((a, b) => a - b);
    return { name, ours: { median: 100 * sorted[sorted.length >> 1]!, min: 100 * sorted[0]!, max: 100 * sorted[sorted.length - 1]!, unit: '%' }, peer, ratio, budget, met };
  };
  const sum = (list: readonly RouteFigures[], of: (one: RouteFigures) => number): number => list.reduce((total, one) => total + of(one), 0);
  const out: BenchResult[] = [];
  for (const [what, kinds] of [['concave and holed', ['concave', 'holed']], ['convex', ['convex']], ['in a current', ['current']]] as const) {
    const list = figures.filter((one) => (kinds as readonly string[]).includes(one.kind));
    for (const [name, of] of [['heading 000', (one: RouteFigures) => one.fixedS], ['along the longer side', (one: RouteFigures) => one.alongS]] as const) {
      const saved = 1 - sum(list, (one) => one.timeS) / sum(list, of);
      const wanted = what === 'concave and holed' ? 0.15 : 0;
      out.push({
        ...row(`planLines: ${list.length} areas, ${what}: time saved against a serpentine, ${name}`, list.map((one) => 1 - one.timeS / of(one)), wanted > 0 ? 'at least 15 % less in all' : 'less', saved >= wanted),
        ratio: 1 / (1 - saved),
      });
    }
  }
  for (const [what, isWhole] of [['whole areas of at most 12 lines', true], ['12 lines of each larger area', false]] as const) {
    const exact = figures.filter((one) => one.isWhole === isWhole).map((one) => one.overExact - 1);
    if (exact.length > 0) out.push(row(`planLines: ${exact.length} areas, ${what}: time over the exact optimum`, exact, 'within 3 %', Math.max(...exact) <= 0.03));
  }
  const bound = figures.map((one) => one.overBound - 1);
  out.push(row(`planLines: ${figures.length} areas: time over the lower bound (1-tree)`, bound, 'stated', true));
  // What is left over, not what is covered: 99.95 would be written as 100.
  const left = figures.map((one) => 1 - one.covered);
  out.push(row(`planLines: ${figures.length} areas: share of the water left uncovered by bands of half a spacing`, left, 'at most 0.1 %', Math.max(...left) <= 0.001));
  const entered = figures.filter((one) => !(one.nearestM > 0)).length;
  out.push(row(`planLines: ${figures.length} areas: plans with a leg in a keep-out`, [entered / figures.length], 'none', entered === 0));
  return out;
}
