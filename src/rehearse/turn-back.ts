import { normalChance } from './normal-chance.js';
import { OUTCOMES, type OutcomeColumns, type Rehearsal, type RehearsalOptions, type RehearsalRequest, type TurnBack } from './rehearsal.js';

/** The sun, the tide and the tables are looked at so far past the planned end [s], this often. */
const AHEAD_S = 24 * 3600;
const STEP_S = 300;
const HOME = OUTCOMES.indexOf('home');

/**
 * The last time from which the boat gets home with its reserve, in daylight, over water enough and within what is known of the
 * water: whatever it has done by then, it turns for home.
 *
 * Battery: drawn until then and the way home from there (past the planned end the dearest way home of the sortie, at its mean
 * power) leave the reserve, and the whole battery lasts with the chance wanted. Sun, water where it comes back to, and tables of
 * current and level: their end less the longest way home and the 95 % of its time.
 *
 * @param timeS moments
 * @param waysHome what comes of each way home from them, the one to be preferred first; the first that gets home counts
 * @returns NaN where it does not get home from the start on; null where there is no way home at all
 */
export function turnBack(rehearsal: Rehearsal, request: RehearsalRequest, options: RehearsalOptions, timeS: Float64Array, waysHome: readonly OutcomeColumns[], energyUsedWh: (moment: number) => number): TurnBack | null {
  const n = timeS.length;
  const { totals } = rehearsal;
  const { boat } = request;
  const holdsWh = boat.batteryWh * options.batteryShare;
  const usableWh = (1 - options.reserveShare) * holdsWh;
  const shareOfEnergy = totals.energyWh > 0 ? totals.energy95Wh / totals.energyWh / 1.96 : 0;
  const z = deviateOf(options.leastChance);
  const lasts = (needWh: number): boolean => needWh <= usableWh && needWh + z * Math.hypot((boat.battery95Wh * options.batteryShare) / 1.96, shareOfEnergy * needWh) <= holdsWh;
  let [homeWh, homeS, firstBad, lastGood] = [0, 0, -1, NaN];
  let isEmpty = false;
  for (let i = 0; i < n; i++) {
    const wayHome = waysHome.find(({ outcome }) => outcome[i] === HOME);
    if (wayHome === undefined) {
      if (firstBad < 0) [firstBad, isEmpty] = [i, waysHome.some(({ energyLeftWh }) => energyLeftWh[i]! <= 0)];
      continue;
    }
    const wayWh = holdsWh - energyUsedWh(i) - wayHome.energyLeftWh[i]!;
    if (firstBad < 0 && lasts(energyUsedWh(i) + wayWh)) lastGood = timeS[i]!;
    else if (firstBad < 0) [firstBad, isEmpty] = [i, true];
    homeWh = Math.max(homeWh, wayWh);
    homeS = Math.max(homeS, wayHome.timeS[i]! - timeS[i]!);
  }
  if (n === 0 || homeS === 0) return null;
  const slackS = homeS * (1 + (totals.timeS > 0 && Number.isFinite(totals.time95S) ? totals.time95S / totals.timeS : 0));
  const limits: { timeS: number; limit: TurnBack['limit'] }[] = [];
  if (firstBad >= 0) limits.push({ timeS: lastGood, limit: isEmpty ? 'battery' : 'way home' });
  else {
    const meanW = totals.timeS > 0 ? (totals.energyWh / totals.timeS) * 3600 : 0;
    // Past the planned end: the need grows by the mean power.
    let [low, high] = [0, 30 * 24 * 3600];
    const needAt = (pastS: number): number => totals.energyWh + (meanW * pastS) / 3600 + homeWh;
    if (!lasts(needAt(0))) limits.push({ timeS: totals.endS, limit: 'battery' });
    else if (meanW > 0) {
      for (let k = 0; k < 40; k++) {
        const middle = (low + high) / 2;
        if (lasts(needAt(middle))) low = middle;
        else high = middle;
      }
      limits.push({ timeS: totals.endS + low, limit: 'battery' });
    }
  }
  const until = (limit: TurnBack['limit'], holds: (at: number) => boolean): void => {
    for (let at = request.startS; at <= totals.endS + AHEAD_S; at += STEP_S) {
      if (holds(at)) continue;
      if (at === request.startS) return void limits.push({ timeS: NaN, limit });
      let [good, bad] = [at - STEP_S, at];
      while (bad - good > 1) {
        const middle = (good + bad) / 2;
        if (holds(middle)) good = middle;
        else bad = middle;
      }
      return void limits.push({ timeS: good - slackS, limit });
    }
  };
  const { sunAltitudeDeg = null, level = null, current } = request;
  if (sunAltitudeDeg !== null) until('daylight', (at) => sunAltitudeDeg(at) >= options.leastSunDeg);
  const { recovery } = rehearsal;
  if (recovery !== null && recovery.isOpen && Number.isFinite(recovery.toS) && recovery.endsWithTide) limits.push({ timeS: recovery.toS - slackS, limit: 'tide' });
  if (level !== null) until('tide table', (at) => !Number.isNaN(level.levelsAt(Float64Array.of(at))[0]!));
  if (Number.isFinite(current.endS)) limits.push({ timeS: current.endS - slackS, limit: 'current table' });
  const first = limits.reduce((least, next) => (Number.isNaN(least.timeS) || least.timeS <= next.timeS ? least : next), { timeS: Infinity, limit: 'battery' as TurnBack['limit'] });
  if (first.timeS === Infinity) return null;
  return { timeS: first.timeS < request.startS ? NaN : first.timeS, limit: first.limit, wayHomeS: slackS };
}

/** The standard normal deviate below which a share lies, to 1e-6; Infinity where certainty is asked. */
function deviateOf(chance: number): number {
  if (chance >= 1) return Infinity;
  let [low, high] = [-8, 8];
  while (high - low > 1e-6) {
    const middle = (low + high) / 2;
    if (normalChance(middle) < chance) low = middle;
    else high = middle;
  }
  return Math.max(0, high);
}
