import { formatUtc } from '../base/time.js';
import { modelPower } from '../boat/boat-model.js';
import type { WaterLevel } from '../water/level.js';
import { nextOpening } from '../water/tidal-keepouts.js';
import type { Hazards } from './hazards.js';
import { linkConcern } from './judge-link.js';
import { legName } from './leg-words.js';
import { belowText, spanText } from './moment-words.js';
import { normalChance } from './normal-chance.js';
import type { Concern, ConcernKind, Rehearsal, RehearsalOptions, RehearsalRequest, Verdict } from './rehearsal.js';
import { compareConcerns, percent, verdictOf } from './verdict.js';
import type { TidalVisit } from './tidal-visits.js';
import { whenPossible, whenWaterEnough } from './when-possible.js';

/** Slower over the ground than this share of the speed through the water is worth a word. */
const SLOW_SHARE = 0.35;

type Told = Omit<Rehearsal, 'verdict'>;

/** Go or no-go, the limiting reason first, and every other concern in order of weight. */
export function judgeSortie(told: Told, request: RehearsalRequest, options: RehearsalOptions, hazards: Hazards, visits: readonly TidalVisit[] = []): Verdict {
  const concerns: Concern[] = [];
  const add = (kind: ConcernKind, weight: Concern['weight'], text: string, about: Partial<Pick<Concern, 'timeS' | 'xM' | 'yM' | 'legIndex'>> = {}): void => {
    concerns.push({ kind, weight, text, timeS: NaN, xM: NaN, yM: NaN, legIndex: -1, ...about });
  };
  const atRow = (row: number): Pick<Concern, 'timeS' | 'xM' | 'yM' | 'legIndex'> => {
    const { timeS, xM, yM, legIndex } = told.columns;
    return { timeS: timeS[row]!, xM: xM[row]!, yM: yM[row]!, legIndex: legIndex[row]! };
  };
  const nameOf = (legIndex: number): string => legName(request.sortie, legIndex);
  const { columns, stopped } = told;

  judgePlaces(told, request, hazards, add, atRow, nameOf);
  judgeTidal(visits, told, request, options, add, atRow, nameOf);

  if (stopped?.why === 'no-legs') add('data', 'no-go', 'the sortie has no legs to run');
  const { startS, endS } = request.current;
  if (stopped?.why === 'no-current-known') {
    const outside = outsideText(request.startS, startS, endS);
    const known = Number.isFinite(startS) || Number.isFinite(endS) ? `${request.current.source} runs from ${formatUtc(startS)} to ${formatUtc(endS)}` : request.current.source;
    add('data', 'no-go', outside !== null ? `the start, ${formatUtc(request.startS)}, is outside the times of the current: ${known}, the start is ${outside}; choose another start, or give a current for that day` : `the current is not known on ${nameOf(stopped.legIndex)} at ${formatUtc(stopped.timeS)}: ${known}${stopped.timeS < endS ? ', with a gap there' : ''}`, stopped);
  }
  if (stopped?.why === 'current') {
    const leg = request.sortie.legs[stopped.legIndex]!;
    // The strongest of its last minutes: at the edge of a race it is set back into weaker water.
    let current = 0;
    for (let i = columns.n - 1; i >= 0 && columns.timeS[i]! > stopped.timeS - 120; i--) current = Math.max(current, columns.currentMps[i]!);
    const possible = whenPossible(request, options, leg, stopped.timeS);
    const faster = leg.speedMps < request.boat.topSpeedMps && whenPossible(request, options, { ...leg, speedMps: request.boat.topSpeedMps }, stopped.timeS) === stopped.timeS;
    const then = possible === null ? 'it does not become possible in the next 24 h that the current is known for' : `it becomes possible at ${formatUtc(possible)}`;
    add('current', 'no-go', `the current, ${current.toFixed(2)} m/s, is stronger than the boat at ${leg.speedMps.toFixed(2)} m/s on ${nameOf(stopped.legIndex)} at ${formatUtc(stopped.timeS)}; ${then}${faster ? `; at its top speed, ${request.boat.topSpeedMps.toFixed(2)} m/s, the boat would make way` : ''}`, stopped);
  }
  if (stopped?.why === 'too-long') add('current', 'no-go', `the sortie takes more than four times as long as planned and was given up on ${nameOf(stopped.legIndex)} at ${formatUtc(stopped.timeS)}`, stopped);

  judgeWater(told, request, options, add, atRow, nameOf);
  const chanceHome = judgeBattery(told, request, options, add);
  judgeSky(told, options, add, atRow, nameOf);
  const link = linkConcern(told.link, request, options);
  if (link !== null) concerns.push(link);

  let slowest = -1;
  for (const leg of told.legs) {
    const ordered = request.sortie.legs[leg.index]!.speedMps;
    if (leg.lengthM > 20 && leg.meanGroundMps < SLOW_SHARE * ordered && (slowest < 0 || leg.meanGroundMps < told.legs[slowest]!.meanGroundMps)) slowest = leg.index;
  }
  if (slowest >= 0) add('current', 'caution', `${nameOf(slowest)} makes ${told.legs[slowest]!.meanGroundMps.toFixed(2)} m/s over the ground of ${request.sortie.legs[slowest]!.speedMps.toFixed(2)} m/s through the water`, { legIndex: slowest, timeS: told.legs[slowest]!.startS });

  const gaps = told.lines.filter((line) => line.gaps.length > 0);
  if (gaps.length > 0) {
    const lengthM = gaps.reduce((sum, line) => sum + line.gaps.reduce((total, end, i) => total + (i % 2 === 1 ? end : -end), 0), 0);
    const wide = told.track95M > options.toleranceM;
    add('painting', 'caution', `${lengthM.toFixed(0)} m of ${gaps.length === 1 ? `line ${gaps[0]!.line}` : `${gaps.length} lines`} will not be within ${options.toleranceM} m with a chance of ${(100 * options.paintedChance).toFixed(0)} %${wide ? `: the boat's cross-track error is ${told.track95M.toFixed(1)} m (95 %)` : ''}`);
  }
  const fastest = request.sortie.legs.reduce((most, leg) => Math.max(most, leg.speedMps), 0);
  if (fastest > request.boat.topSpeedMps) add('speed', 'caution', `${fastest.toFixed(2)} m/s is ordered, the boat makes ${request.boat.topSpeedMps.toFixed(2)} m/s: rehearsed at that`);
  for (const standIn of request.boat.standIns) add('boat', 'note', `not measured, stood in for: ${standIn}`);

  concerns.sort(compareConcerns);
  return verdictOf(told, request, options, concerns, chanceHome);
}

type Add = (kind: ConcernKind, weight: Concern['weight'], text: string, about?: Partial<Pick<Concern, 'timeS' | 'xM' | 'yM' | 'legIndex'>>) => void;
type AtRow = (row: number) => Pick<Concern, 'timeS' | 'xM' | 'yM' | 'legIndex'>;
type NameOf = (legIndex: number) => string;

/** Launch point, legs and track against keep-outs and land. */
function judgePlaces(told: Told, request: RehearsalRequest, hazards: Hazards, add: Add, atRow: AtRow, nameOf: NameOf): void {
  if (hazards.none) return;
  const { columns } = told;
  const words = { 'keep-out': 'a keep-out', land: 'land' } as const;
  const first = request.sortie.legs.find((leg) => leg.path.length >= 2)?.path;
  if (first === undefined) return;
  const launch = hazards.at(first[0]!, first[1]!);
  if (launch !== null) {
    add('launch', 'no-go', `the launch point lies ${launch === 'land' ? 'on land' : 'inside a keep-out'}`, { xM: first[0]!, yM: first[1]!, timeS: request.startS, legIndex: 0 });
    return;
  }
  for (let k = 0; k < request.sortie.legs.length; k++) {
    const { path } = request.sortie.legs[k]!;
    for (let i = 2; i + 1 < path.length; i += 2) {
      const met = hazards.firstOn(path[i - 2]!, path[i - 1]!, path[i]!, path[i + 1]!);
      if (met === null) continue;
      const length = Math.hypot(path[i]! - path[i - 2]!, path[i + 1]! - path[i - 1]!);
      const share = length > 0 ? met.atM / length : 0;
      add('keep-out', 'no-go', `${nameOf(k)} runs into ${words[met.kind]}`, { legIndex: k, timeS: told.legs[k]!.startS, xM: path[i - 2]! + share * (path[i]! - path[i - 2]!), yM: path[i - 1]! + share * (path[i + 1]! - path[i - 1]!) });
      return;
    }
  }
  for (let i = 1; i < columns.n; i++) {
    const met = hazards.firstOn(columns.xM[i - 1]!, columns.yM[i - 1]!, columns.xM[i]!, columns.yM[i]!);
    if (met === null) continue;
    add('keep-out', 'no-go', `off its leg the boat gets into ${words[met.kind]} on ${nameOf(columns.legIndex[i]!)} at ${formatUtc(columns.timeS[i]!)}: stop the lines further from it (lines.keepoutM), give the ways more room (sortie.clearanceM), or turn more slowly (rehearse.turnSpeedMps)`, atRow(i));
    return;
  }
  let nearest = told.track95M;
  let row = -1;
  for (let i = 0; i < columns.n; i += 2) {
    const room = hazards.nearestM(columns.xM[i]!, columns.yM[i]!, nearest);
    if (room < nearest) [nearest, row] = [room, i];
  }
  if (row >= 0) add('keep-out', 'caution', `the track passes ${nearest.toFixed(1)} m from a keep-out or land on ${nameOf(columns.legIndex[row]!)}, within the boat's cross-track error of ${told.track95M.toFixed(1)} m (95 %)`, atRow(row));
}

/** How far outside a span a time lies; null where it lies inside, or the span has no ends. */
function outsideText(timeS: number, startS = -Infinity, endS = Infinity): string | null {
  if (timeS < startS) return `${spanText(startS - timeS)} before that`;
  return timeS > endS ? `${spanText(timeS - endS)} after that` : null;
}

function tableText({ source = 'the tide table', startS, endS }: WaterLevel): string {
  return startS === undefined || endS === undefined ? `${source} does not reach` : `${source} runs from ${formatUtc(startS)} to ${formatUtc(endS)}`;
}

/** Keep-outs by tide that the boat is over: the first visit while one is closed. */
function judgeTidal(visits: readonly TidalVisit[], told: Told, request: RehearsalRequest, options: RehearsalOptions, add: Add, atRow: AtRow, nameOf: NameOf): void {
  const bad = visits.filter((visit) => !visit.open).sort((a, b) => a.fromS - b.fromS)[0];
  if (bad === undefined) return;
  const { columns } = told;
  const needM = options.draftM + options.leastWaterM;
  const opening = nextOpening(bad.keepout, { level: request.level ?? null, needM }, bad.fromS);
  const when = request.level == null ? 'no water level is known, so it is closed always' : opening === null ? 'it does not open in the next 25 h' : opening.fromS > bad.fromS ? `it opens at ${formatUtc(opening.fromS)}` : `it closes at ${formatUtc(opening.toS)}, before the boat is over it`;
  add('keep-out', 'no-go', `${nameOf(columns.legIndex[bad.row]!)} leads over a keep-out by tide at ${formatUtc(bad.fromS)} while there is less than ${needM.toFixed(2)} m of water on it: ${when}`, atRow(bad.row));
}

function judgeWater(told: Told, request: RehearsalRequest, options: RehearsalOptions, add: Add, atRow: AtRow, nameOf: NameOf): void {
  const { columns } = told;
  if (request.bottomDepthM == null || columns.n === 0) return;
  const { level = null, bottomDepthM } = request;
  if (level === null) add('water', 'note', 'no water level was given: water under the boat is told with the water at the datum');
  else if (Number.isNaN(level.levelsAt(Float64Array.of(request.startS))[0]!)) {
    const outside = outsideText(request.startS, level.startS, level.endS);
    add('data', 'no-go', `the water level is not known at the start, ${formatUtc(request.startS)}: ${tableText(level)}${outside === null ? ' and has a gap there' : `, the start is ${outside}`}; choose another start, or give a level for that day`, { timeS: request.startS });
    return;
  } else {
    const end = columns.timeS[columns.n - 1]!;
    if (Number.isNaN(level.levelsAt(Float64Array.of(end))[0]!)) add('data', 'no-go', `the water level is not known at the end of the sortie, ${formatUtc(end)}: ${tableText(level)}; leave earlier, or give a longer table`, { timeS: end });
  }
  let row = -1;
  let unknown = 0;
  for (let i = 0; i < columns.n; i++) {
    const under = columns.waterUnderM[i]!;
    if (Number.isNaN(under)) unknown++;
    else if (row < 0 || under < columns.waterUnderM[row]!) row = i;
  }
  if (unknown > 0) add('water', 'caution', `the water under the boat is not known on ${((100 * unknown) / columns.n).toFixed(0)} % of the sortie`);
  if (row < 0) return;
  const under = columns.waterUnderM[row]!;
  if (under >= options.leastWaterM) return;
  const depthM = bottomDepthM(columns.xM[row]!, columns.yM[row]!);
  const then = level === null ? null : whenWaterEnough(level, depthM - options.draftM, options.leastWaterM, columns.timeS[row]!);
  const when = level === null ? '' : then === null ? '; there is not in the next 25 h' : `; there is from ${formatUtc(then)}`;
  const text = under < 0 ? `the boat is aground on ${nameOf(columns.legIndex[row]!)} at ${formatUtc(columns.timeS[row]!)}: ${(-under).toFixed(under > -0.05 ? 2 : 1)} m short of water` : `${belowText(under, options.leastWaterM, 1)} m under the boat on ${nameOf(columns.legIndex[row]!)} at ${formatUtc(columns.timeS[row]!)}`;
  add('water', 'no-go', `${text}, ${options.leastWaterM} m wanted${when}`, atRow(row));
}

/** Energy against the battery, and the chance that it is enough, from both their uncertainties. */
function judgeBattery(told: Told, request: RehearsalRequest, options: RehearsalOptions, add: Add): number {
  const { totals, stopped, columns } = told;
  if (stopped !== null) return 0;
  const holdsWh = request.boat.batteryWh * options.batteryShare;
  const chance = normalChance(totals.energyLeftWh / Math.max(1e-9, totals.energyLeft95Wh / 1.96));
  const need = `${totals.energyWh.toFixed(0)} ± ${totals.energy95Wh.toFixed(0)} Wh (95 %)`;
  const usable = (1 - options.reserveShare) * holdsWh;
  const rowPast = (energyWh: number): number => columns.energyWh.findIndex((value) => value > energyWh);
  const about = (energyWh: number): Partial<Concern> => {
    const row = rowPast(energyWh);
    return row < 0 ? {} : { timeS: columns.timeS[row]!, xM: columns.xM[row]!, yM: columns.yM[row]!, legIndex: columns.legIndex[row]! };
  };
  if (totals.energyWh > holdsWh) add('battery', 'no-go', `the sortie needs ${need}, the battery holds ${holdsWh.toFixed(0)} Wh: it is empty at ${formatUtc(columns.timeS[rowPast(holdsWh)] ?? totals.endS)}`, about(holdsWh));
  else if (totals.energyWh > usable) add('battery', 'no-go', `the sortie needs ${need}, ${usable.toFixed(0)} Wh of the battery's ${holdsWh.toFixed(0)} Wh may be used: it goes into the reserve of ${(100 * options.reserveShare).toFixed(0)} %`, about(usable));
  else if (chance < options.leastChance) add('battery', 'no-go', `the chance that the battery lasts is ${percent(chance)}, ${percent(options.leastChance)} is wanted: ${need} of ${holdsWh.toFixed(0)} ± ${(request.boat.battery95Wh * options.batteryShare).toFixed(0)} Wh`);
  else if (totals.energyWh > 0.8 * usable) {
    const leftWh = usable - totals.energyWh;
    const { powerW } = modelPower(request.boat, request.sortie.legs.find((leg) => leg.kind === 'line')?.speedMps ?? request.boat.topSpeedMps / 2);
    add('battery', 'caution', `${leftWh.toFixed(0)} Wh above the reserve at the end, ${spanText((leftWh / powerW) * 3600)} at the speed of the lines`);
  }
  return chance;
}

function judgeSky(told: Told, options: RehearsalOptions, add: Add, atRow: AtRow, nameOf: NameOf): void {
  const { columns } = told;
  const first = (column: Float32Array, least: number): number => column.findIndex((value) => value < least);
  const dark = first(columns.sunAltitudeDeg, options.leastSunDeg);
  if (dark >= 0) {
    const before = dark === 0;
    const light = before ? columns.sunAltitudeDeg.findIndex((value) => value >= options.leastSunDeg) : -1;
    add('daylight', 'no-go', before ? `the sun is ${belowText(columns.sunAltitudeDeg[0]!, options.leastSunDeg, 1)} deg high at the start, ${options.leastSunDeg} deg is wanted${light > 0 ? `; it is from ${formatUtc(columns.timeS[light]!)}` : ''}` : `the sun sinks below ${options.leastSunDeg} deg at ${formatUtc(columns.timeS[dark]!)}, on ${nameOf(columns.legIndex[dark]!)}, before the boat is home`, atRow(dark));
  }
}
