import { createRandom } from '../src/base/random.js';
import { createFrame } from '../src/geo/frame.js';
import type { Polygon } from '../src/geo/shapes.js';
import type { LineOptions, LinePlan } from '../src/lines/line-plan.js';
import { planLines } from '../src/lines/plan-lines.js';
import { createLinks, orderCost } from '../src/lines/run-order.js';
import { createTransitNetwork } from '../src/lines/transit-network.js';
import { runEnds } from '../src/lines/line-plan.js';
import { linesInRunOrder } from '../src/lines/plan-output.js';
import type { BenchResult } from './bench.js';
import { keep, measureInTurn } from './bench.js';
import { routeQuality } from './line-routes.js';

const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
const [X, Y] = frame.toFrame(46, -30);

/** An area of about 5 km2 with 20 keep-outs of 6 to 11 corners, 40 to 160 m across. */
function ground(): { area: Polygon[]; keepouts: Polygon[] } {
  const random = createRandom(7);
  const area = [{ outer: Float64Array.of(X, Y, X + 2800, Y + 300, X + 2600, Y + 2150, X + 100, Y + 2000), holes: [] }];
  const keepouts = Array.from({ length: 20 }, (): Polygon => {
    const x = X + random.between(250, 2400);
    const y = Y + random.between(400, 1800);
    const corners = 6 + random.integer(6);
    const radius = random.between(20, 80);
    const ring: number[] = [];
    for (let k = 0; k < corners; k++) {
      const angle = (2 * Math.PI * k) / corners;
      const reach = radius * random.between(0.7, 1.2);
      ring.push(x + reach * Math.cos(angle), y + reach * Math.sin(angle));
    }
    return { outer: Float64Array.from(ring), holes: [] };
  });
  return { area, keepouts };
}

const OPTIONS: LineOptions = { spacingM: 20, headingDeg: null, crossShare: 0.05, runInM: 5, runOutM: 5, minLengthM: 5, insetM: 5, speedMps: 1.5 };

/**
 * Transit of a plan's main lines improved by a long, plain search of another kind: random restarts of a part of the order,
 * each followed by turning parts round wherever that helps, with no thought of time. What it ends at is the best known.
 */
function longSearchM(plan: LinePlan, keepouts: readonly Polygon[], rounds: number): { own: number; best: number } {
  const lines = linesInRunOrder(plan).filter((line) => line.kind === 'main');
  const ends = Float64Array.from(
    lines.flatMap((line) => {
      const run = runEnds(line);
      // Run-in and run-out are alike here, so the way back runs between the same two places.
      return [run.fromXM, run.fromYM, run.toXM, run.toYM, run.toXM, run.toYM, run.fromXM, run.fromYM];
    }),
  );
  const network = createTransitNetwork(keepouts, Math.max(OPTIONS.insetM, 2));
  const links = createLinks({ ends, network, start: null, finish: null, effort: 'full' });
  const random = createRandom(99);
  const n = links.n;
  const turn = (states: number[], i: number, j: number): void => {
    for (let a = i, b = j; a <= b; a++, b--) {
      const held = states[a]! ^ 1;
      states[a] = states[b]! ^ 1;
      states[b] = held;
    }
  };
  const settle = (states: number[], lo: number, hi: number): void => {
    for (let changed = true; changed; ) {
      changed = false;
      for (let i = lo; i < hi; i++) {
        for (let j = i; j < hi; j++) {
          const before = i > 0 ? states[i - 1]! : links.START;
          const after = j < n - 1 ? states[j + 1]! : links.FINISH;
          const now = links.cost(before, states[i]!) + links.cost(states[j]!, after);
          if (links.least(before, states[j]! ^ 1) + links.least(states[i]! ^ 1, after) >= now - 1e-6) continue;
          if (links.cost(before, states[j]! ^ 1) + links.cost(states[i]! ^ 1, after) < now - 1e-6) {
            turn(states, i, j);
            changed = true;
          }
        }
      }
    }
  };
  const own = Array.from({ length: n }, (_, i) => 2 * i);
  let best = own.slice();
  let bestM = orderCost(links, best);
  for (let round = 0; round < rounds; round++) {
    const states = best.slice();
    // Three cuts close together, the two parts between them exchanged (double bridge).
    const a = random.integer(Math.max(1, n - 3));
    const b = a + 1 + random.integer(Math.min(30, n - a - 2));
    const c = b + 1 + random.integer(Math.min(30, n - b - 1));
    const part = [...states.slice(b, c), ...states.slice(a, b)];
    states.splice(a, c - a, ...part);
    settle(states, Math.max(0, a - 40), Math.min(n, c + 40));
    const lengthM = orderCost(links, states);
    if (lengthM < bestM - 1e-6) {
      bestM = lengthM;
      best = states;
    }
  }
  return { own: orderCost(links, own), best: bestM };
}

/** Line planning over 5 km2 with 20 keep-outs: while dragging and worked out, and how near the best known its route is. */
export async function run(): Promise<BenchResult[]> {
  const { area, keepouts } = ground();
  const plan = (more: Partial<LineOptions>): LinePlan => planLines({ area, keepouts, frame, options: { ...OPTIONS, ...more } });
  const made = plan({});
  const [drag, dragHeading, full, covering] = await measureInTurn([
    () => keep(plan({ effort: 'drag' }).time.totalS),
    () => keep(plan({ effort: 'drag', headingDeg: 70 }).time.totalS),
    () => keep(plan({}).time.totalS),
    () => keep(plan({ cells: true, edges: 'cover', insetM: 0 }).time.totalS),
  ]);
  const searched = longSearchM(made, keepouts, 4000);
  const bestS = made.time.totalS - (searched.own - searched.best) / OPTIONS.speedMps;
  const share = made.time.totalS / bestS;
  const what = `5 km2, 20 keep-outs, ${made.main.length + made.cross.length} lines`;
  return [
    ...routeQuality(),
    { name: `planLines: ${what}, while dragging`, ours: { ...drag!, unit: 's' }, peer: null, ratio: null, budget: 'under 0.1 s', met: drag!.median < 0.1 },
    { name: `planLines: ${what}, while dragging, heading set`, ours: { ...dragHeading!, unit: 's' }, peer: null, ratio: null, budget: 'under 0.1 s', met: dragHeading!.median < 0.1 },
    { name: `planLines: ${what}, worked out`, ours: { ...full!, unit: 's' }, peer: null, ratio: null, budget: 'under 2 s', met: full!.median < 2 },
    { name: `planLines: ${what}, worked out with cells and covering edges`, ours: { ...covering!, unit: 's' }, peer: null, ratio: null, budget: 'under 2 s', met: covering!.median < 2 },
    {
      name: `planLines: ${what}, route time`,
      ours: { median: made.time.totalS, min: made.time.totalS, max: made.time.totalS, unit: 's' },
      peer: { name: 'after a long search', median: bestS, min: bestS, max: bestS },
      ratio: bestS / made.time.totalS,
      budget: 'within 3 % of the best known',
      met: share < 1.03,
    },
  ];
}
