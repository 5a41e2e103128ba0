import { createHazards } from './hazards.js';
import { judgeSortie } from './judge-sortie.js';
import { legTrack } from './leg-track.js';
import { linkOutlook, USUAL_ALLOWANCE_DB } from './link-outlook.js';
import { paintedLines } from './painted-lines.js';
import { placeWindow } from './place-window.js';
import { legName } from './leg-words.js';
import { legsMet } from './legs-met.js';
import { quickRun } from './quick-run.js';
import { checkedOptions } from './rehearsal-options.js';
import type { LegRun, Rehearsal, RehearsalColumns, RehearsalOptions, RehearsalRequest, RehearsalTotals } from './rehearsal.js';
import { runBoat } from './boat-run.js';
import type { RunRecord } from './run-record.js';
import { tidalVisits, unvisited } from './tidal-visits.js';
import { waterMotion } from './water-motion.js';

/** Between times the sun is asked for, in rows. */
const SUN_ROWS = 30;

/**
 * Rehearses a sortie: runs it in fast time with the boat card's motion in the current of the day, and judges it.
 *
 * What a survey cannot do is a verdict with reasons, never an exception: a current stronger than the boat, a start outside
 * the tables, a launch on land, a sortie longer than the battery. The same request gives the same result: nothing is drawn
 * by chance; what chance adds is told as a band.
 *
 * @returns columns every `rowS` seconds (legs' ends and some 60 s apart with `quick`), legs, lines, totals, verdict
 * @throws RangeError for options out of their range
 */
export function rehearseSortie(request: RehearsalRequest): Rehearsal {
  const options = checkedOptions(request);
  const { sortie, boat } = request;
  const track = legTrack(sortie.legs);
  const water = waterMotion(request, options);
  const run = track.n === 0 ? noRun(request.startS, sortie.legs.length) : (request.effort === 'quick' ? quickRun : runBoat)(track, sortie.legs.length, boat, options, water, request.startS);
  const columns = columnsOf(run, request, options);
  const visits = tidalVisits(request.keepouts ?? [], columns, { level: request.level ?? null, needM: options.draftM + options.leastWaterM });
  const hazards = createHazards(unvisited(request.keepouts ?? [], visits), request.land ?? []);
  const met = legsMet(columns, request, options, run.stopped);
  const legs = run.legs.map((leg, index): LegRun => {
    const { kind, line, lengthM } = sortie.legs[index]!;
    const { startS, endS, energyWh, energySigmaWh, crabRad } = leg;
    return { index, name: legName(sortie, index), kind, line, startS, endS, lengthM, meanGroundMps: endS > startS ? lengthM / (endS - startS) : NaN, crabDeg: (crabRad * 180) / Math.PI, energyWh, energy95Wh: 1.96 * energySigmaWh, ...met[index]! };
  });
  const lines = track.n === 0 ? [] : paintedLines(run, track, sortie.legs, boat.trackRmsM, options);
  const totals = totalsOf(run, columns, request, options);
  const link = linkOutlook(columns, sortie, options, request.linkAllowanceDb ?? USUAL_ALLOWANCE_DB);
  const [first, last] = [sortie.legs.find(({ path }) => path.length >= 2)?.path, sortie.legs[sortie.legs.length - 1]?.path];
  const isQuick = request.effort === 'quick';
  const launch = first === undefined || isQuick ? null : placeWindow(first[0]!, first[1]!, request.startS, request, options);
  const recovery = last === undefined || isQuick || run.stopped !== null ? null : placeWindow(last[last.length - 2]!, last[last.length - 1]!, totals.endS, request, options);
  const told = { columns, legs, lines, totals, track95M: boat.track95M, launch, recovery, link, stopped: run.stopped };
  return { ...told, verdict: judgeSortie(told, request, options, hazards, visits) };
}

function columnsOf(run: RunRecord, request: RehearsalRequest, options: RehearsalOptions): RehearsalColumns {
  const { n, timeS, xM, yM } = run;
  const { convergenceDeg = 0, level = null, bottomDepthM = null, sunAltitudeDeg = null, linkMarginDb = null } = request;
  const unknown = (): Float32Array => new Float32Array(n).fill(NaN);
  const waterUnderM = unknown();
  if (bottomDepthM !== null) {
    // Without a level the water is taken to stand at the datum.
    const levels = level?.levelsAt(timeS) ?? new Float64Array(n);
    for (let i = 0; i < n; i++) waterUnderM[i] = bottomDepthM(xM[i]!, yM[i]!) + levels[i]! - options.draftM;
  }
  const sun = unknown();
  if (sunAltitudeDeg !== null) {
    for (let i = 0; i < n; i += SUN_ROWS) {
      const to = Math.min(n - 1, i + SUN_ROWS);
      const here = sunAltitudeDeg(timeS[i]!);
      const there = sunAltitudeDeg(timeS[to]!);
      for (let k = i; k <= to; k++) sun[k] = to > i ? here + ((there - here) * (timeS[k]! - timeS[i]!)) / Math.max(1e-9, timeS[to]! - timeS[i]!) : here;
    }
  }
  const link = unknown();
  if (linkMarginDb !== null) for (let i = 0; i < n; i++) link[i] = linkMarginDb(xM[i]!, yM[i]!);
  const bearing = (rad: number): number => {
    const degrees = (((rad * 180) / Math.PI + convergenceDeg) % 360 + 360) % 360;
    // So small a turn before north rounds to 360 in single precision.
    return degrees >= 359.99999 ? 0 : degrees;
  };
  return {
    n,
    timeS,
    xM,
    yM,
    headingDeg: Float32Array.from(run.headingRad, bearing),
    speedOverGroundMps: Float32Array.from(run.groundMps),
    speedThroughWaterMps: Float32Array.from(run.throughMps),
    legIndex: run.legIndex,
    energyWh: run.energyWh,
    energy95Wh: run.energySigmaWh.map((sigma) => 1.96 * sigma),
    waterUnderM,
    currentMps: Float32Array.from({ length: n }, (_, i) => Math.hypot(run.currentXMps[i]!, run.currentYMps[i]!)),
    currentSetDeg: Float32Array.from({ length: n }, (_, i) => bearing(Math.atan2(run.currentXMps[i]!, run.currentYMps[i]!))),
    crossTrackM: Float32Array.from(run.crossM),
    linkMarginDb: link,
    sunAltitudeDeg: sun,
  };
}

function totalsOf(run: RunRecord, columns: RehearsalColumns, request: RehearsalRequest, options: RehearsalOptions): RehearsalTotals {
  const { n } = run;
  const last = n - 1;
  const { boat, startS } = request;
  let lengthM = 0;
  for (let i = 1; i < n; i++) lengthM += Math.hypot(run.xM[i]! - run.xM[i - 1]!, run.yM[i]! - run.yM[i - 1]!);
  const least = (column: Float32Array): number => {
    let found = NaN;
    for (let i = 0; i < n; i++) if (!(found <= column[i]!) && !Number.isNaN(column[i]!)) found = column[i]!;
    return found;
  };
  const endS = n > 0 ? run.timeS[last]! : startS;
  const energyWh = n > 0 ? run.energyWh[last]! : 0;
  const energy95Wh = n > 0 ? columns.energy95Wh[last]! : 0;
  const holdsWh = boat.batteryWh * options.batteryShare;
  return {
    startS,
    endS,
    timeS: endS - startS,
    time95S: 1.96 * run.timeSigmaS,
    energyWh,
    energy95Wh,
    energyLeftWh: holdsWh - energyWh,
    energyLeft95Wh: Math.hypot(energy95Wh, boat.battery95Wh * options.batteryShare),
    lengthM,
    turnS: run.turnS,
    leastWaterM: least(columns.waterUnderM),
    leastLinkDb: least(columns.linkMarginDb),
    leastSunDeg: least(columns.sunAltitudeDeg),
    strongestCurrentMps: -least(columns.currentMps.map((speed) => -speed)),
  };
}

/** A sortie with nothing to run. */
function noRun(startS: number, legCount: number): RunRecord {
  const none = new Float64Array(0);
  return {
    n: 0, timeS: none, xM: none, yM: none, headingRad: none, groundMps: none, throughMps: none, stretch: new Int32Array(0), legIndex: new Int32Array(0), legWayM: none, crossM: none, currentXMps: none, currentYMps: none, energyWh: none, energySigmaWh: none,
    legs: Array.from({ length: legCount }, () => ({ startS: NaN, endS: NaN, energyWh: NaN, energySigmaWh: NaN, crabRad: NaN })),
    timeSigmaS: 0,
    turnS: 0,
    stopped: { why: 'no-legs', legIndex: -1, timeS: startS, xM: NaN, yM: NaN },
  };
}
