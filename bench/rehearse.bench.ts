import type { BoatModel } from '../src/boat/boat-model.js';
import type { Polygon } from '../src/geo/shapes.js';
import type { Leg } from '../src/lines/sortie.js';
import { createLink } from '../src/rehearse/link.js';
import { bestStart } from '../src/rehearse/best-start.js';
import type { RehearsalRequest } from '../src/rehearse/rehearsal.js';
import { rehearseSortie } from '../src/rehearse/rehearse-sortie.js';
import { worstMoments } from '../src/rehearse/worst-moments.js';
import { currentFromRaster } from '../src/water/current-raster.js';
import { seriesLevel } from '../src/water/level.js';
import { sunPosition } from '../src/water/sun.js';
import type { BenchResult } from './bench.js';
import { keep, measureInTurn } from './bench.js';

const START_S = 1_781_676_000;
const SPAN_S = 48 * 3600;
const TIDE_S = 12.42 * 3600;

/** A boat of the class (common practice; not measured). */
const BOAT: BoatModel = {
  topSpeedMps: 2.8, tauS: 1.1, coastLengthM: 3.08, asternShare: 0.7, spinRateDegps: 60, yawTS: 0.5, yawK: 2, turnDiameterM: () => 5, turnSpeedKept: () => 0.85,
  trackRmsM: 0.3, track95M: 0.6, settleM: 5, hotelW: 9, powerCoefficient: 16, powerExponent: 3, powerCovariance: [0.04, 0, 0, 0, 0.25, 0, 0, 0, 0.0025],
  batteryWh: 1100, battery95Wh: 60, topSpeed95Mps: 0.05, standIns: [],
};

/** Lines of 600 m, 20 m apart, at 1.5 m/s, until they take some eight hours. */
function sortie(): RehearsalRequest['sortie'] {
  const legs: Leg[] = [];
  let [x, y] = [0, 0];
  const go = (kind: Leg['kind'], line: number | null, toX: number, toY: number): void => {
    legs.push({ kind, line, path: Float64Array.of(x, y, toX, toY), lengthM: Math.hypot(toX - x, toY - y), speedMps: 1.5 });
    [x, y] = [toX, toY];
  };
  const count = 66;
  for (let i = 0; i < count; i++) {
    const [from, to, way] = i % 2 === 0 ? [50, 650, 1] : [650, 50, -1];
    const lineX = 40 + 20 * i;
    go(i === 0 ? 'launch' : 'turn', i + 1, lineX, from - 10 * way);
    go('run-in', i + 1, lineX, from);
    go('line', i + 1, lineX, to);
    go('run-out', i + 1, lineX, to + 10 * way);
  }
  go('home', null, 0, 0);
  return { number: 1, legs, lines: Array.from({ length: count }, (_, i) => i + 1), lengthM: legs.reduce((sum, leg) => sum + leg.lengthM, 0), timeS: NaN, time95S: NaN, energyWh: NaN, energy95Wh: NaN };
}

/** A day with everything in it: keep-outs, a shore of 400 corners, a raster of the stream, a tide, a bottom, the sun, the link. */
function request(): RehearsalRequest {
  const square = (xM: number, yM: number, half: number): Polygon => ({ outer: Float64Array.of(xM - half, yM - half, xM + half, yM - half, xM + half, yM + half, xM - half, yM + half), holes: [] });
  const keepouts = Array.from({ length: 20 }, (_, i) => square(-120 + 80 * i, i % 2 === 0 ? 720 : 10, 12));
  const shore: number[] = [1800, -400, -500, -400];
  for (let i = 0; i <= 400; i++) shore.splice(0, 0, -500 + 5.75 * i, -45 + 12 * Math.sin(i / 9) + 5 * Math.sin(i * 1.7));
  const land: Polygon[] = [{ outer: Float64Array.from(shore), holes: [] }];
  const timesS = Float64Array.from({ length: SPAN_S / 900 + 80 }, (_, i) => START_S - 7200 + 900 * i);
  const [cols, rows] = [40, 30];
  const cells = cols * rows;
  const stream = (row: number, col: number, timeS: number): number => 0.45 * (1 + 0.004 * (col - 20) - 0.006 * row) * Math.sin((2 * Math.PI * (timeS - START_S)) / TIDE_S);
  const frames = Array.from(timesS, (timeS) => {
    const strength = Float32Array.from({ length: cells }, (_, i) => stream(Math.floor(i / cols), i % cols, timeS));
    return { timeS, eastMps: strength.map((value) => 0.3 * value), northMps: strength.map((value) => 0.9 * value) };
  });
  const link = createLink({ base: { xM: 0, yM: -30 }, frequencyMhz: 2400, baseHeightM: 3, boatHeightM: 0.5, budget: { kind: 'rated', rangeM: 1500, over: 'water' }, obstacles: [{ kind: 'area', polygon: land[0]!, heightM: 3 }] });
  return {
    sortie: sortie(),
    boat: BOAT,
    startS: START_S,
    current: currentFromRaster({ grid: { westM: -500, northM: 1000, cellM: 50, cols, rows }, frames, axes: 'grid' }, { convergenceDeg: 0, worth: { baseMps: 0.03, share: 0 } }),
    keepouts,
    land,
    level: seriesLevel(timesS, timesS.map((timeS) => 1.2 * Math.cos((2 * Math.PI * (timeS - START_S)) / TIDE_S)), 3600),
    bottomDepthM: (x, y) => 2.2 + 0.006 * y + 0.4 * Math.sin(x / 70),
    sunAltitudeDeg: (timeS) => sunPosition(timeS, 46, -30).altitudeDeg,
    linkMarginDb: (x, y) => link.marginDb(x, y),
    options: { leastLinkDb: 0 },
  };
}

/** Rehearsal of an eight-hour sortie with lost-link outcomes at every ten seconds, and the best start in two days. */
export async function run(): Promise<BenchResult[]> {
  const asked = request();
  const { sortie, ...common } = asked;
  const once = rehearseSortie(asked);
  const moments = worstMoments(once, asked);
  const hours = once.totals.timeS / 3600;
  if (!(hours > 7.9)) throw new Error(`the sortie takes ${hours.toFixed(2)} h: expected eight`);
  const [both, alone, best] = await measureInTurn([
    () => {
      const rehearsal = rehearseSortie(asked);
      keep(worstMoments(rehearsal, asked).ranking[0]!.bad);
    },
    () => keep(rehearseSortie(asked).totals.energyWh),
    () => keep(bestStart({ common, sorties: [sortie], swapS: 600, fromS: START_S, toS: START_S + SPAN_S, stepS: 900 }).windows.length),
  ]);
  const what = `${hours.toFixed(1)} h, ${asked.sortie.legs.length} legs, 20 keep-outs, a shore, stream, tide, depths, sun and link`;
  return [
    { name: `rehearseSortie and worstMoments: ${what}, ${moments.n} moments of 7 mishaps`, ours: { ...both!, unit: 's' }, peer: null, ratio: null, budget: 'under 1 s', met: both!.median < 1 },
    { name: `rehearseSortie: ${what}`, ours: { ...alone!, unit: 's' }, peer: null, ratio: null, budget: 'no budget of its own', met: true },
    { name: 'bestStart: that sortie, every 15 min of two days', ours: { ...best!, unit: 's' }, peer: null, ratio: null, budget: 'no budget of its own', met: true },
  ];
}
