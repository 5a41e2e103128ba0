import { currentAt } from './velocity-circle.js';
import { CARD_FIGURES, type BoatCard, type CardFigure, type CardFigureName, type CurrentFigures, type TurningFigures } from './boat-card.js';
import { trialFigure } from './card-power.js';
import type { RunFigures } from './card-runs.js';
import { coastOf } from './coast-fit.js';
import { combine, combineSets, evenMean, half95, isRefused, type Estimate, type Refusal } from './estimate.js';
import { spinOf } from './spin.js';
import { startOf, type StartFit } from './start-fit.js';
import { stopOf } from './stop-astern.js';
import { trackKeeping, type IntendedLine } from './track-keeping.js';
import type { Trial, TrialKind, TrialLog } from './trial-log.js';
import { turningCircle, type TurningCircle } from './turning-circle.js';
import { zigZagOf } from './zig-zag.js';
import type { KnownCurrent } from './along-way.js';

/** What the trials other than steady runs give. */
export interface MotionFigures {
  readonly figures: Partial<Record<CardFigureName, CardFigure>>;
  readonly turning: readonly TurningFigures[];
  readonly currents: readonly CurrentFigures[];
  /** Top speeds that the standing starts head for; used where no runs give one. */
  readonly startTops: { readonly estimate: Estimate; readonly trials: readonly string[] } | null;
  readonly refused: BoatCard['refused'];
}

/** A current told elsewhere and at another time is not trusted further than this [m/s]. */
const LEAST_SIGMA_CURRENT_MPS = 0.001;
/**
 * Degrees of freedom that a trial's own error counts for, by figure: how well its error foretells how far repeats scatter, as
 * seen over 200 simulated days (test/boat/coverage.test.ts, test/boat/find-trials.test.ts).
 */
const TRUST = { start: 1, coast: 0.25, yaw: 1, usual: 2, turn: 1, steadyTurn: 0.25 } as const;
/** Turning circles whose approach speeds lie within this share are one. */
const SAME_SPEED_SHARE = 0.12;
const KINEMATIC = 'IMO MSC.137(76) and ITTC 7.5-04-02-01, drift of the steady turn taken out';

/** Acceleration, stopping, turning and track keeping from the trials of a log, with the current that the runs or the circles found. */
export function figuresFromMotions(log: TrialLog, trials: readonly Trial[], runs: RunFigures, compass: boolean, lines: Readonly<Record<string, IntendedLine>>): MotionFigures {
  const refused: { what: string; why: string }[] = [];
  const figures: Partial<Record<CardFigureName, CardFigure>> = {};
  const seen = compass ? log : { ...log, headingDeg: new Float32Array(log.n).fill(NaN) };
  const results = <T extends object>(kind: TrialKind, work: (trial: Trial) => T | Refusal): { trial: Trial; result: T }[] =>
    trials.filter((trial) => trial.kind === kind).flatMap((trial) => {
      const result = trial.refused !== '' ? { refused: trial.refused } : work(trial);
      if (!isRefused(result)) return [{ trial, result }];
      refused.push({ what: trial.id, why: result.refused });
      return [];
    });
  const give = (name: CardFigureName, parts: readonly { trial: Trial; estimate: Estimate | Refusal }[], method: string, note = '', trust: number = TRUST.usual, together: (parts: readonly Estimate[]) => Estimate = (estimates) => combine(estimates, trust)): void => {
    const good = parts.flatMap(({ trial, estimate }) => {
      if (!isRefused(estimate)) return [{ trial, estimate }];
      refused.push({ what: `${CARD_FIGURES[name].label}, ${trial.id}`, why: estimate.refused });
      return [];
    });
    if (good.length > 0) figures[name] = trialFigure(together(good.map(({ estimate }) => estimate)), CARD_FIGURES[name].unit, good.map(({ trial }) => trial.id), method, note);
  };

  const repeats = (parts: readonly Estimate[]): Estimate => combineSets([parts], [1], TRUST.yaw)[0]!;
  // Drag, the inverse of a coasting length, is what scatters evenly: the mean of lengths would come out long.
  const inverses = (parts: readonly Estimate[]): Estimate => {
    const mean = combineSets([parts.map(({ value, sigma, dof }) => ({ value: 1 / value, sigma: sigma / value ** 2, dof }))], [1], TRUST.coast)[0]!;
    return { value: 1 / mean.value, sigma: mean.sigma / mean.value ** 2, dof: mean.dof };
  };
  const circles = results('turning-circle', (trial) => turningCircle(seen, trial.rowStart, trial.rowEnd));
  const current = (trial: Trial): KnownCurrent | Refusal => currentFor(trial, log, runs, circles);
  const withCurrent = <T extends object>(work: (trial: Trial, known: KnownCurrent) => T | Refusal) => (trial: Trial): T | Refusal => {
    const known = current(trial);
    return isRefused(known) ? known : work(trial, known);
  };

  const starts = results('standing-start', withCurrent((trial, known) => startOf(log, trial.rowStart, trial.rowEnd, known)));
  const fromStarts = (name: CardFigureName, pick: (fit: StartFit) => Estimate): void =>
    give(name, starts.map(({ trial, result }) => ({ trial, estimate: pick(result) })), 'v = vmax tanh(t / tau) fitted to the way made, current taken out', '', TRUST.start);
  fromStarts('timeTo63', (fit) => fit.timeTo63S);
  fromStarts('timeTo90', (fit) => fit.timeTo90S);
  fromStarts('timeTo95', (fit) => fit.timeTo95S);
  fromStarts('distanceTo90', (fit) => fit.distanceTo90M);

  const coasts = results('coast-down', withCurrent((trial, known) => coastOf(log, trial.rowStart, trial.rowEnd, known)));
  const coasting = 'v = v0 / (1 + v0 t / L) fitted to the way made, current taken out';
  give('coastLength', coasts.map(({ trial, result }) => ({ trial, estimate: result.lengthM })), coasting, '', TRUST.coast, inverses);
  give('coastTo10', coasts.map(({ trial, result }) => ({ trial, estimate: result.wayTo10M })), coasting, '', TRUST.coast, inverses);

  const stops = results('stop-astern', withCurrent((trial, known) => stopOf(log, trial.rowStart, trial.rowEnd, known)));
  const from = stops.length === 0 ? '' : `from ${(stops.reduce((sum, { result }) => sum + result.fromSpeedMps.value, 0) / stops.length).toFixed(2)} m/s`;
  give('stopAstern', stops.map(({ trial, result }) => ({ trial, estimate: result.wayM })), 'track reach to rest through the water, IMO MSC.137(76), current taken out', from);
  give('stopAsternTime', stops.map(({ trial, result }) => ({ trial, estimate: result.timeS })), 'time to rest through the water, current taken out', from);

  const spins = results('spin', (trial) => spinOf(seen, trial.rowStart, trial.rowEnd));
  give('spinRate', spins.map(({ trial, result }) => ({ trial, estimate: result.rateDegPerS })), 'slope of the heading once steady', '', TRUST.yaw, repeats);
  give('spinWander', spins.map(({ trial, result }) => ({ trial, estimate: result.wanderM })), 'distance of the pivot from its even drift, the arm of the antenna taken out', 'holds the noise of the positions');

  const zigZags = results('zig-zag', (trial) => zigZagOf(seen, trial.rowStart, trial.rowEnd));
  const nomoto = (pick: 'k' | 'tS') => zigZags.map(({ trial, result }) => ({ trial, estimate: isRefused(result.nomoto) ? result.nomoto : result.nomoto[pick] }));
  give('nomotoK', nomoto('k'), 'T r\' + r = K d fitted to the heading (Nomoto 1957)', '', TRUST.yaw, repeats);
  give('nomotoT', nomoto('tS'), 'T r\' + r = K d fitted to the heading (Nomoto 1957)', '', TRUST.yaw, repeats);
  const response = figures.nomotoT;
  if (response !== undefined) {
    const timing = Math.max(...zigZags.map(({ result }) => (isRefused(result.nomoto) ? 0 : result.nomoto.sigmaTimingS)));
    figures.nomotoT = { ...response, uncertainty95: Math.hypot(response.uncertainty95, half95({ value: 0, sigma: timing, dof: Infinity })) };
  }
  give('overshootFirst', zigZags.map(({ trial, result }) => ({ trial, estimate: { value: result.overshootsDeg[0]!, sigma: result.sigmaOvershootDeg, dof: Infinity } })), 'heading past the reversal of the helm, IMO MSC.137(76)');

  const squares = (parts: readonly Estimate[]): Estimate => evenMean(parts, 2);
  const legs = results('straight-leg', (trial) => trackKeeping(log, trial.rowStart, trial.rowEnd, lines[trial.id] ?? null));
  const keeping = 'distance from the line kept, last 60 % of each leg';
  const noLine = legs.some(({ trial }) => lines[trial.id] === undefined) ? 'against the straight line through each leg: a steady offset does not show' : '';
  give('trackMean', legs.map(({ trial, result }) => ({ trial, estimate: result.meanM })), keeping);
  give('trackRms', legs.map(({ trial, result }) => ({ trial, estimate: result.rmsM })), keeping, noLine, TRUST.usual, squares);
  give('track95', legs.map(({ trial, result }) => ({ trial, estimate: result.within95M })), keeping, noLine, TRUST.usual, squares);
  give('settleDistance', legs.map(({ trial, result }) => ({ trial, estimate: result.settleM })), 'way until within the 95 % error for 5 s', '', TRUST.usual, (parts) => evenMean(parts, 1));

  return {
    figures,
    turning: turningFigures(circles, refused),
    currents: circles.map(({ trial, result }) => driftFigures(trial, result)),
    startTops: starts.length === 0 ? null : { estimate: combine(starts.map(({ result }) => result.topSpeedMps)), trials: starts.map(({ trial }) => trial.id) },
    refused,
  };
}

/** The current for a trial: from the runs, else the drift of the turning circle nearest in time, else along the line of reciprocal runs. */
function currentFor(trial: Trial, log: TrialLog, runs: RunFigures, circles: readonly { trial: Trial; result: TurningCircle }[]): KnownCurrent | Refusal {
  const midS = (trial.startS + trial.endS) / 2;
  if (runs.current !== null) {
    const known = currentAt(runs.current, midS);
    return { ...known, sigmaMps: Math.hypot(known.sigmaMps, LEAST_SIGMA_CURRENT_MPS) };
  }
  let nearest: TurningCircle | null = null;
  for (const { result } of circles) if (nearest === null || Math.abs(result.orderS - midS) < Math.abs(nearest.orderS - midS)) nearest = result;
  if (nearest !== null) return { eastMps: nearest.driftEastMps, northMps: nearest.driftNorthMps, sigmaMps: Math.hypot(nearest.sigmaDriftMps, LEAST_SIGMA_CURRENT_MPS) };
  const along = runs.currentAlong;
  if (along !== null) {
    const a = log.xM[trial.rowStart]!;
    const b = log.yM[trial.rowStart]!;
    const course = Math.atan2(log.xM[trial.rowEnd - 1]! - a, log.yM[trial.rowEnd - 1]! - b) + (log.convergenceDeg * Math.PI) / 180;
    const line = (along.courseDeg * Math.PI) / 180;
    if (Math.abs(Math.cos(course - line)) > Math.cos(Math.PI / 9)) return { eastMps: along.mps * Math.sin(line), northMps: along.mps * Math.cos(line), sigmaMps: Math.hypot(along.sigmaMps, LEAST_SIGMA_CURRENT_MPS) };
  }
  return { refused: 'the current is not known, and way through the water cannot be told from way over the ground: add reciprocal runs on the same line, or runs on three headings' };
}

function turningFigures(circles: readonly { trial: Trial; result: TurningCircle }[], refused: { what: string; why: string }[]): TurningFigures[] {
  const sets: { trial: Trial; result: TurningCircle }[][] = [];
  for (const one of circles) {
    const known = sets.find(([first]) => first!.result.side === one.result.side && Math.abs(first!.result.approachMps.value - one.result.approachMps.value) < SAME_SPEED_SHARE * first!.result.approachMps.value);
    if (known === undefined) sets.push([one]);
    else known.push(one);
  }
  const speeds = sets.map((set) => combine(set.map(({ result }) => result.approachMps)).value);
  /** One figure of every set, their scatter pooled. */
  const figures = (unit: string, what: string, pick: (circle: TurningCircle) => Estimate | Refusal, trust: number = TRUST.turn): CardFigure[] => {
    const good = sets.map((set) => {
      const estimates: Estimate[] = [];
      for (const { trial, result } of set) {
        const estimate = pick(result);
        if (isRefused(estimate)) refused.push({ what: `${what}, ${trial.id}`, why: estimate.refused });
        else estimates.push(estimate);
      }
      return estimates;
    });
    // A push of the waves moves the speed by F / (2 k v), the yaw rate likewise.
    const pooled = combineSets(good, speeds.map((speed) => 1 / speed), trust);
    return sets.map((set, i) => {
      const notes = [...new Set(set.map(({ result }) => result.note).filter((text) => text !== ''))].join('; ');
      return trialFigure(pooled[i]!, unit, set.map(({ trial }) => trial.id), KINEMATIC, good[i]!.length === 0 ? 'the turns stopped short of it' : notes);
    });
  };
  const advance = figures('m', 'advance', (one) => one.advanceM);
  const transfer = figures('m', 'transfer', (one) => one.transferM);
  const tactical = figures('m', 'tactical diameter', (one) => one.tacticalDiameterM);
  const steady = figures('m', 'steady diameter', (one) => one.steadyDiameterM, TRUST.steadyTurn);
  const to90 = figures('s', 'time to 90 degrees', (one) => one.timeTo90S);
  const to180 = figures('s', 'time to 180 degrees', (one) => one.timeTo180S);
  const to360 = figures('s', 'time to 360 degrees', (one) => one.timeTo360S);
  const kept = figures('1', 'speed kept', (one) => one.speedKept, TRUST.steadyTurn);
  return sets
    .map((set, i): TurningFigures => ({
      atSpeedMps: speeds[i]!,
      side: set[0]!.result.side,
      advanceM: advance[i]!,
      transferM: transfer[i]!,
      tacticalDiameterM: tactical[i]!,
      steadyDiameterM: steady[i]!,
      timeTo90S: to90[i]!,
      timeTo180S: to180[i]!,
      timeTo360S: to360[i]!,
      speedKept: kept[i]!,
    }))
    .sort((a, b) => a.atSpeedMps - b.atSpeedMps || a.side.localeCompare(b.side));
}

function driftFigures(trial: Trial, circle: TurningCircle): CurrentFigures {
  const { driftEastMps: east, driftNorthMps: north, sigmaDriftMps: sigma, dof } = circle;
  const drift = Math.hypot(east, north);
  const method = 'drift of the steady turn';
  const note = 'what wind does to the boat is in it';
  return {
    setDeg: { value: ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360, uncertainty95: Math.min(180, (half95({ value: 0, sigma: sigma / drift, dof }) * 180) / Math.PI), unit: 'deg', source: 'trials', trials: [trial.id], method, note },
    driftMps: trialFigure({ value: drift, sigma, dof }, 'm/s', [trial.id], method, note),
    startS: trial.startS,
    endS: trial.endS,
  };
}
