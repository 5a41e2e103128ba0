import { turnDeg } from '../base/interpolate.js';
import type { BoatCard, CardFigure, CurrentFigures } from './boat-card.js';
import { combine, half95, isRefused, type Estimate } from './estimate.js';
import { meanOfMeans } from './mean-of-means.js';
import { gapFault, runMean, type RunMean } from './run-mean.js';
import type { Trial, TrialLog } from './trial-log.js';
import { currentAt, fitVelocityCircles, fitVelocityVectors, type Velocities, type VelocityFit } from './velocity-circle.js';

/** Runs at one setting of the thrusters, and the speed they give. */
export interface SpeedGroup {
  readonly commandPct: number;
  readonly runs: readonly { readonly trial: Trial; readonly mean: RunMean }[];
  readonly speed: Estimate | null;
  readonly method: string;
  readonly note: string;
}

/** What the steady runs of a log give together. */
export interface RunFigures {
  readonly groups: readonly SpeedGroup[];
  /** Current from all runs; null where they do not tell it. */
  readonly current: VelocityFit | null;
  /** Along one line only, from reciprocal runs, where the fit does not tell it: true course of the line [deg], current [m/s]. */
  readonly currentAlong: { readonly courseDeg: number; readonly mps: number; readonly sigmaMps: number } | null;
  readonly currents: readonly CurrentFigures[];
  readonly refused: BoatCard['refused'];
}

/** Commands closer than this are one setting [%]. */
const SAME_COMMAND_PCT = 4;
/** Runs are reciprocal when their courses, or headings, are opposite within this [deg]. */
const OPPOSITE_WITHIN_DEG = 20;
/** No run's own error is taken to be less than this [m/s]: positions carry slow errors that a run does not show. */
const LEAST_SIGMA_MPS = 0.002;
const MEAN_OF_MEANS = 'mean of means, ITTC 7.5-04-01-01.1, crab across the line added';

/**
 * Speeds through the water and the current from all steady runs of a log.
 *
 * Reciprocal runs of one setting give the speed by mean of means, to which the crab that holds the boat on its line across the
 * current is added (the speed through the water is the hypotenuse); runs on other headings by circles about one current, or by
 * vectors where a compass was logged and is to be trusted. Where there are two ways the first named is taken and the other is told beside it.
 */
export function speedsFromRuns(log: TrialLog, trials: readonly Trial[], compass: boolean): RunFigures {
  const refused: { what: string; why: string }[] = [];
  const runs: { trial: Trial; mean: RunMean }[] = [];
  for (const trial of trials) {
    if (trial.kind !== 'steady-run') continue;
    const fault = trial.refused !== '' ? trial.refused : gapFault(log, trial.rowStart, trial.rowEnd);
    const mean = fault !== '' ? { refused: fault } : runMean(log, approachEnd(log, trial), trial.rowEnd);
    if (isRefused(mean)) refused.push({ what: trial.id, why: mean.refused });
    else runs.push({ trial, mean: compass ? mean : { ...mean, headingDeg: NaN } });
  }
  runs.sort((a, b) => a.mean.midS - b.mean.midS);
  const sets = bySetting(runs);
  const wander = wanderOf(sets);
  const fits = fitCurrent(sets);
  const groups = sets.map((set, index) => groupSpeed(set, index, fits, wander));
  for (const group of groups) if (group.speed === null) refused.push({ what: `speed at ${settingText(group)}`, why: group.note });
  const current = fits.vectors ?? fits.circles;
  const ids = runs.map(({ trial }) => trial.id);
  const pairs = groups.flatMap((group) => reciprocalSeries(group.runs).map((series) => ({ result: seriesSpeed(series, current, wander) })));
  const best = pairs.sort((a, b) => a.result.speed.sigma - b.result.speed.sigma)[0];
  return {
    groups,
    current,
    currentAlong: best === undefined ? null : { courseDeg: best.result.lineDeg, mps: best.result.currentAlong, sigmaMps: best.result.speed.sigma },
    currents: current === null ? [] : [currentFigures(current, ids, fits.vectors !== null ? 'velocities and headings of the runs, least squares' : 'circle of velocities over the ground, least squares', runs)],
    refused: fits.why === '' || current !== null ? refused : [...refused, { what: 'set and drift', why: fits.why }],
  };
}

/**
 * The first two fifths of a run, 18 s at most, are approach: the helm still finds the line, and that costs speed: with a fifth
 * of it left in, top speed came out 2.5 mm/s low over 120 days on the proving ground. Not of a run that is too short as it is [s].
 */
const APPROACH_SHARE = 0.4;
const LONGEST_APPROACH_S = 18;
const LEAST_LEFT_S = 16;

/** Row of a run from which it is measured. */
function approachEnd(log: TrialLog, { rowStart, rowEnd }: Trial): number {
  const startS = log.timeS[rowStart]!;
  const durationS = log.timeS[rowEnd - 1]! - startS;
  const fromS = startS + Math.min(APPROACH_SHARE * durationS, LONGEST_APPROACH_S, Math.max(0, durationS - LEAST_LEFT_S));
  let row = rowStart;
  while (row < rowEnd - 1 && log.timeS[row]! < fromS) row++;
  return row;
}

type Run = SpeedGroup['runs'][number];

function bySetting(runs: readonly Run[]): Run[][] {
  const sets: { command: number; series: number; runs: Run[] }[] = [];
  for (const run of runs) {
    const command = Number.isNaN(run.mean.commandPct) ? run.trial.commandPct : run.mean.commandPct;
    const known = sets.find((set) => (Number.isNaN(command) ? Number.isNaN(set.command) && run.trial.series >= 0 && set.series === run.trial.series : Math.abs(set.command - command) < SAME_COMMAND_PCT));
    if (known === undefined) sets.push({ command, series: run.trial.series, runs: [run] });
    else known.runs.push(run);
  }
  return sets.map((set) => set.runs);
}

function settingText(group: Pick<SpeedGroup, 'commandPct' | 'runs'>): string {
  return Number.isNaN(group.commandPct) ? `the setting of ${group.runs[0]!.trial.id}` : `${group.commandPct.toFixed(0)} % command`;
}

function fitCurrent(sets: readonly Run[][]): { circles: VelocityFit | null; vectors: VelocityFit | null; why: string } {
  const flat = sets.flatMap((set, group) => set.map((run) => ({ ...run.mean, group })));
  if (flat.length === 0) return { circles: null, vectors: null, why: 'no steady run' };
  const velocities: Velocities = {
    eastMps: flat.map((run) => run.eastMps),
    northMps: flat.map((run) => run.northMps),
    sigmaMps: flat.map((run) => Math.max(LEAST_SIGMA_MPS, run.sigmaAlongMps)),
    sigmaDof: flat.reduce((sum, run) => sum + run.dof, 0),
    group: flat.map((run) => run.group),
    timeS: flat.map((run) => run.midS),
  };
  const spare = flat.length - sets.length - 2;
  const circles = fitVelocityCircles(velocities, spare >= 4);
  const headings = flat.map((run) => run.headingDeg);
  const known = headings.every((heading) => !Number.isNaN(heading));
  const vectors = known ? fitVelocityVectors(velocities, headings, 2 * flat.length - sets.length - 3 >= 6) : null;
  const usable = (fit: VelocityFit): VelocityFit | null => (fit.sigmaSpeedMps.every((sigma) => sigma < 0.5) && fit.covariance[0]! < 0.25 ? fit : null);
  return {
    circles: isRefused(circles) ? null : usable(circles),
    vectors: vectors === null || isRefused(vectors) ? null : usable(vectors),
    why: isRefused(circles) ? circles.refused : 'the runs do not tell current from speed: add a run on another heading',
  };
}

/** Runs that follow one another out and home, 2 to 6 to a series. */
function reciprocalSeries(runs: readonly Run[]): Run[][] {
  const found: Run[][] = [];
  let series: Run[] = [];
  const direction = ({ mean }: Run): number => (Number.isNaN(mean.headingDeg) ? mean.courseDeg : mean.headingDeg);
  for (const run of runs) {
    const last = series[series.length - 1];
    const opposite = last !== undefined && Math.abs(Math.abs(turnDeg(direction(last), direction(run))) - 180) <= OPPOSITE_WITHIN_DEG && (last.trial.series === run.trial.series || last.trial.series < 0 || run.trial.series < 0);
    if (opposite && series.length < 6) series.push(run);
    else {
      if (series.length >= 2) found.push(series);
      series = [run];
    }
  }
  if (series.length >= 2) found.push(series);
  return found;
}

function seriesSpeed(series: readonly Run[], current: VelocityFit | null, wander: Wander): { speed: Estimate; currentAlong: number; lineDeg: number; swept: boolean; acrossKnown: boolean } {
  // Along the line of the first run, out positive, the way the bow points; a run that is swept back by the current counts with its sign.
  const first = series[0]!.mean;
  const backwards = Math.abs(turnDeg(first.headingDeg, first.courseDeg)) > 90;
  const lineDeg = backwards ? (first.courseDeg + 180) % 360 : first.courseDeg;
  const line = (lineDeg * Math.PI) / 180;
  const along = series.map(({ mean }, i) => (i % 2 === 0 ? 1 : -1) * (mean.eastMps * Math.sin(line) + mean.northMps * Math.cos(line)));
  const { sigmas, dof } = pooledSigmas(series, wander);
  const result = meanOfMeans(along, sigmas);
  // Held on a line across a current the boat crabs: its speed through the water has a part across the line too.
  let squares = 0;
  let sigmaAcross = 0;
  let acrossKnown = true;
  for (const [i, { mean }] of series.entries()) {
    let across = 0;
    if (current !== null) {
      const water = currentAt(current, mean.midS);
      across = (mean.eastMps - water.eastMps) * Math.cos(line) - (mean.northMps - water.northMps) * Math.sin(line);
      sigmaAcross = Math.max(sigmaAcross, water.sigmaMps);
    } else if (!Number.isNaN(mean.headingDeg)) {
      across = result.speedMps * Math.tan((turnDeg(lineDeg + 180 * (i % 2), mean.headingDeg) * Math.PI) / 180);
    } else acrossKnown = false;
    squares += across * across / series.length;
  }
  const speed = Math.hypot(result.speedMps, Math.sqrt(squares));
  const sigma = Math.hypot(result.sigmaMps, (sigmaAcross * Math.sqrt(squares)) / speed);
  return { speed: { value: speed, sigma, dof }, currentAlong: result.currentAlongMps, lineDeg, swept: along.some((value) => value < 0), acrossKnown };
}

/** What the runs of the whole log tell of how far a run's mean scatters: its variance times time times speed squared. */
interface Wander {
  readonly value: number;
  readonly dof: number;
}

/** Degrees of freedom that all runs count for beside those of a series, whose few blocks tell a variance badly. */
const TRUST_IN_ALL_RUNS = 8;

/** Waves push alike at all speeds, and against quadratic drag a push moves the speed by F / (2 k v). */
function wanderOf(sets: readonly (readonly Run[])[]): Wander {
  let sum = 0;
  let dof = 0;
  for (const set of sets) {
    const speed = usualSpeed(set);
    for (const { mean } of set) {
      sum += mean.dof * mean.sigmaAlongMps ** 2 * mean.durationS * speed ** 2;
      dof += mean.dof;
    }
  }
  return { value: dof > 0 ? sum / dof : 0, dof };
}

/** Out and home together about the speed through the water. */
function usualSpeed(runs: readonly Run[]): number {
  return runs.reduce((sum, { mean }) => sum + mean.speedMps, 0) / runs.length;
}

/** Errors of runs made in the same water are taken alike: the mean variance times time, moderated by what all runs tell, shared out by length. */
function pooledSigmas(series: readonly Run[], all: Wander): { sigmas: number[]; dof: number } {
  const own = wanderOf([series]);
  const trust = Math.min(TRUST_IN_ALL_RUNS, Math.max(0, all.dof - own.dof));
  const dof = own.dof + trust;
  const variance = (own.dof * own.value + trust * all.value) / dof / usualSpeed(series) ** 2;
  return { sigmas: series.map(({ mean }) => Math.max(LEAST_SIGMA_MPS, Math.sqrt(variance / mean.durationS))), dof };
}

function groupSpeed(runs: readonly Run[], index: number, fits: { circles: VelocityFit | null; vectors: VelocityFit | null; why: string }, wander: Wander): SpeedGroup {
  const commands = runs.map(({ mean, trial }) => (Number.isNaN(mean.commandPct) ? trial.commandPct : mean.commandPct));
  const commandPct = commands.reduce((sum, command) => sum + command, 0) / commands.length;
  const current = fits.vectors ?? fits.circles;
  const results = reciprocalSeries(runs).map((series) => seriesSpeed(series, current, wander));
  const of = (fit: VelocityFit): Estimate => ({ value: fit.speedMps[index]!, sigma: fit.sigmaSpeedMps[index]!, dof: fit.dof });
  const other = fits.vectors !== null ? { speed: of(fits.vectors), name: 'velocities with headings' } : fits.circles !== null ? { speed: of(fits.circles), name: 'circle of velocities' } : null;
  const stronger = results.some((result) => result.swept) || (current !== null && current.driftMps > current.speedMps[index]!);
  const swept = stronger ? 'the current is stronger than the boat at this setting; ' : '';
  if (results.length > 0) {
    const speed = combine(results.map((result) => result.speed), 12);
    let note = swept + (results.every((result) => result.acrossKnown) ? '' : 'the current across the runs is not known and taken as none; ');
    if (other !== null) {
      const apart = Math.abs(other.speed.value - speed.value);
      const agree = apart <= Math.hypot(half95(other.speed), half95(speed));
      note += `${other.name} gives ${other.speed.value.toFixed(3)} ± ${half95(other.speed).toFixed(3)} m/s${agree ? ', which agrees' : ': they DISAGREE, look at the runs'}`;
    }
    return { commandPct, runs, speed, method: MEAN_OF_MEANS, note: note.replace(/; $/, '') };
  }
  if (other !== null) return { commandPct, runs, speed: other.speed, method: `${other.name}, least squares`, note: `${swept}${runs.length === 1 ? 'one run, the current from the other runs' : ''}`.replace(/; $/, '') };
  const sameWay = runs.length > 1 && !Number.isNaN(runs[0]!.mean.headingDeg) && Math.abs(turnDeg(runs[0]!.mean.headingDeg, runs[1]!.mean.headingDeg)) > 140 && Math.abs(turnDeg(runs[0]!.mean.courseDeg, runs[1]!.mean.courseDeg)) < 60;
  return { commandPct, runs, speed: null, method: '', note: sameWay ? 'the current is stronger than the boat at this setting: it went the same way on opposite headings; wait for it to ease' : `no reciprocal run; ${fits.why}` };
}

function currentFigures(fit: VelocityFit, trials: readonly string[], method: string, runs: readonly Run[]): CurrentFigures {
  const figure = (value: number, sigma: number, unit: string): CardFigure => ({ value, uncertainty95: half95({ value, sigma, dof: fit.dof }), unit, source: 'trials', trials, method, note: fit.sigmaRateMps2 > 0 ? `changes by ${(Math.hypot(fit.rateEastMps2, fit.rateNorthMps2) * 3600).toFixed(2)} m/s an hour` : '' });
  return {
    setDeg: { ...figure(fit.setDeg, fit.sigmaSetDeg, 'deg'), uncertainty95: Math.min(180, half95({ value: fit.setDeg, sigma: fit.sigmaSetDeg, dof: fit.dof })) },
    driftMps: figure(fit.driftMps, fit.sigmaDriftMps, 'm/s'),
    startS: Math.min(...runs.map(({ trial }) => trial.startS)),
    endS: Math.max(...runs.map(({ trial }) => trial.endS)),
  };
}
