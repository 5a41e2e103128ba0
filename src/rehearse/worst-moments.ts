import type { Box } from '../geo/ring.js';
import { formatUtc } from '../base/time.js';
import { backTrack, nextBadRow, wayAlong } from './back-along-track.js';
import { createHazards } from './hazards.js';
import { laterText, spanText } from './moment-words.js';
import { oneThruster } from './one-thruster.js';
import { checkedOptions } from './rehearsal-options.js';
import { OUTCOMES, type LostLinkBehaviour, type Mishap, type MomentOutcomes, type OutcomeColumns, type Place, type Rehearsal, type RehearsalRequest, type WorstMoment, type WorstMomentOptions } from './rehearsal.js';
import { createSafeWays } from './safe-way.js';
import { tidalVisits, unvisited } from './tidal-visits.js';
import { createSeaCache } from './sea-cache.js';
import { AGROUND, DRIFTS, HOME, KEEP_OUT, outcomeColumns, WayHome } from './way-home.js';
import { turnBack } from './turn-back.js';
import { waterMotion } from './water-motion.js';

export const LOST_LINK: readonly LostLinkBehaviour[] = ['carry-on', 'hold', 'straight-home', 'back-along-track', 'safe-lane'];
const MISHAPS: readonly Mishap[] = [...LOST_LINK, 'one-thruster', 'battery-less'];
/** Round the track and home, the sea is looked at this far out [m], or half of their extent where that is more. */
const MARGIN_M = 200;
/** Ways home are followed for so long at most [s]. */
const WAY_BACK_MOST_S = 12 * 3600;

/**
 * What happens, moment by moment, if something goes wrong there: the link drops and the boat carries on, holds its place,
 * comes straight home, comes back along its track or by a safe lane; one thruster fails and it comes straight home with the
 * other; the battery turns out to hold a fifth less and it comes home by the safe lane.
 *
 * Ways home are run at their ground speed by the current triangle over current, level and depths sampled once on grids; the
 * boat's own motion is not run again. A drifting boat is followed for a while to see what it drifts onto.
 *
 * @throws RangeError for options out of their range
 */
export function worstMoments(rehearsal: Rehearsal, request: RehearsalRequest, asked: WorstMomentOptions = {}): MomentOutcomes {
  const options = checkedOptions(request);
  const { everyS = 10, lostLink = 'straight-home', clearanceM = 5, followS = 7200, batteryLess = 0.2, homeSpeedMps = null, safeLane = null } = asked;
  if (!(everyS > 0)) throw new RangeError(`everyS ${everyS}: expected more than 0`);
  if (!(batteryLess >= 0 && batteryLess < 1)) throw new RangeError(`batteryLess ${batteryLess}: expected 0 up to, not including, 1`);
  if (!(followS > 0 && followS <= WAY_BACK_MOST_S)) throw new RangeError(`followS ${followS}: expected more than 0, at most ${WAY_BACK_MOST_S}`);
  const { columns } = rehearsal;
  const { sortie, boat } = request;
  const home = asked.home ?? endOf(request);
  const rows = momentRows(columns.timeS, columns.n, everyS);
  const n = rows.length;
  const outcomes = Object.fromEntries(MISHAPS.map((name) => [name, outcomeColumns(n)])) as Record<Mishap, OutcomeColumns>;
  const timeS = Float64Array.from(rows, (row) => columns.timeS[row]!);
  const xM = Float64Array.from(rows, (row) => columns.xM[row]!);
  const yM = Float64Array.from(rows, (row) => columns.yM[row]!);
  if (n === 0 || home === null) return { n: 0, timeS: new Float64Array(0), xM: new Float64Array(0), yM: new Float64Array(0), outcomes, worstOf: {} as MomentOutcomes['worstOf'], worst: null, ranking: [], turnBackByS: NaN, turnBack: null, notes: ['the sortie has no moments: it was not run'] };

  const visits = tidalVisits(request.keepouts ?? [], columns, { level: request.level ?? null, needM: options.draftM + options.leastWaterM });
  const hazards = createHazards(unvisited(request.keepouts ?? [], visits), request.land ?? []);
  const box = boxAround(xM, yM, home, safeLane);
  const endS = columns.timeS[columns.n - 1]!;
  const water = waterMotion(request, options);
  const sea = createSeaCache(request, water, box, request.startS, endS + followS + Math.min(endS - request.startS, WAY_BACK_MOST_S), options.draftM);
  const notes: string[] = [...sea.notes];
  if (visits.length > 0) notes.push('keep-outs by tide that the sortie leads over are taken as open for what comes of a mishap');
  const way = new WayHome(boat, sea, hazards, followS);
  const one = oneThruster(boat);
  notes.push(`with one thruster the boat makes ${one.wayMps.toFixed(2)} m/s at most, in loops of about ${one.loopM.toFixed(0)} m`);

  const laneFrom = laneFinder();
  const homeCorner = Float64Array.of(home.xM, home.yM);
  const rowWayM = wayAlong(columns);
  const track = backTrack(columns, rowWayM, sea);
  const bad = nextBadRow(columns, hazards);
  const holdsWh = boat.batteryWh * options.batteryShare;
  const emptyRow = columns.energyWh.findIndex((value) => value > holdsWh);
  const drift = new Float64Array(2);

  for (let i = 0; i < n; i++) {
    const row = rows[i]!;
    const t = timeS[i]!;
    const x = xM[i]!;
    const y = yM[i]!;
    const left = holdsWh - columns.energyWh[row]!;
    const speed = Math.min(boat.topSpeedMps, homeSpeedMps ?? sortie.legs[columns.legIndex[row]!]!.speedMps);
    const powerW = way.powerW(speed);

    carryOn(row, left);
    way.into(outcomes['carry-on'], i);
    way.holds(x, y, t, left);
    way.into(outcomes.hold, i);
    way.along(x, y, t, left, homeCorner, speed, powerW);
    way.into(outcomes['straight-home'], i);
    backAlong(row, left, speed, powerW);
    way.into(outcomes['back-along-track'], i);
    const lane = laneFrom(x, y);
    if (lane === null) way.holds(x, y, t, left);
    else way.along(x, y, t, left, lane, speed, powerW);
    way.into(outcomes['safe-lane'], i);
    way.along(x, y, t, left - batteryLess * holdsWh, lane ?? homeCorner, speed, powerW);
    way.into(outcomes['battery-less'], i);
    way.along(x, y, t, left, homeCorner, one.wayMps, one.powerW);
    way.into(outcomes['one-thruster'], i);
  }

  const back = turnBack(rehearsal, request, options, timeS, [outcomes['safe-lane'], outcomes['back-along-track'], outcomes['straight-home']], (i) => columns.energyWh[rows[i]!]!);
  const lessRow = columns.energyWh.findIndex((value) => value > (1 - batteryLess) * holdsWh);
  if (lessRow >= 0) notes.push(`with ${(100 * batteryLess).toFixed(0)} % less the battery is empty at ${formatUtc(columns.timeS[lessRow]!)} if the boat carries on`);

  const worstOf = Object.fromEntries(MISHAPS.map((name) => [name, worstOfOne(name)])) as Record<Mishap, WorstMoment>;
  const candidates = [worstOf[lostLink], worstOf['one-thruster'], worstOf['battery-less']];
  const ranking = LOST_LINK.map((behaviour) => ({ behaviour, bad: outcomes[behaviour].outcome.reduce((sum, value) => sum + (value >= DRIFTS ? 1 : 0), 0), severe: outcomes[behaviour].outcome.reduce((sum, value) => sum + value, 0) }))
    .sort((a, b) => a.bad - b.bad || a.severe - b.severe)
    .map(({ behaviour, bad: count }) => ({ behaviour, bad: count }));
  const worst = candidates.reduce((most, next) => (badness(next) > badness(most) ? next : most));
  return { n, timeS, xM, yM, outcomes, worstOf, worst, ranking, turnBackByS: back?.timeS ?? NaN, turnBack: back, notes };

  /** The rest of the sortie as rehearsed. */
  function carryOn(row: number, left: number): void {
    const { end } = way;
    const trouble = bad.row[row]!;
    const used = columns.energyWh;
    if (emptyRow >= 0 && row >= emptyRow) return way.drifts(columns.xM[row]!, columns.yM[row]!, columns.timeS[row]!, left);
    if (emptyRow >= 0 && emptyRow < trouble) return way.drifts(columns.xM[emptyRow]!, columns.yM[emptyRow]!, columns.timeS[emptyRow]!, 0);
    const at = Math.min(trouble, columns.n - 1);
    if (trouble === columns.n && rehearsal.stopped !== null) return way.drifts(columns.xM[at]!, columns.yM[at]!, columns.timeS[at]!, holdsWh - used[at]!);
    end.outcome = trouble === columns.n ? HOME : bad.land[at] === 1 ? AGROUND : KEEP_OUT;
    end.timeS = columns.timeS[at]!;
    end.xM = columns.xM[at]!;
    end.yM = columns.yM[at]!;
    end.energyLeftWh = holdsWh - used[at]!;
  }

  /** The way it came, node by node, to the start of the track. */
  function backAlong(row: number, energyLeft: number, speed: number, powerW: number): void {
    let x = columns.xM[row]!;
    let y = columns.yM[row]!;
    let at = rowWayM[row]!;
    let t = columns.timeS[row]!;
    let left = energyLeft;
    const wattHours = powerW / 3600;
    for (let k = track.nodeBefore(row); k >= 0; k--) {
      const toX = track.xM[k]!;
      const toY = track.yM[k]!;
      const length = at - track.wayM[k]!;
      const dx = toX - x;
      const dy = toY - y;
      const chord = Math.sqrt(dx * dx + dy * dy);
      if (length <= 1e-9 || chord <= 1e-9) continue;
      sea.driftInto((x + toX) / 2, (y + toY) / 2, t, drift);
      const alongMps = (drift[0]! * dx + drift[1]! * dy) / chord;
      const side = (drift[0]! * dy - drift[1]! * dx) / chord;
      const rest = speed * speed - side * side;
      const ground = rest > 0 ? Math.sqrt(rest) + alongMps : 0;
      if (ground < 0.03) return way.drifts(x, y, t, left);
      const seconds = length / ground;
      if (left < seconds * wattHours) {
        const share = Math.max(0, left) / (seconds * wattHours);
        return way.drifts(x + share * dx, y + share * dy, t + share * seconds, 0);
      }
      left -= seconds * wattHours;
      t += seconds;
      if (track.depthLessDraftM[k]! + sea.levelM(t) < 0) {
        way.end.outcome = AGROUND;
        way.end.timeS = t;
        way.end.xM = toX;
        way.end.yM = toY;
        way.end.energyLeftWh = left;
        return;
      }
      x = toX;
      y = toY;
      at = track.wayM[k]!;
    }
    // What is left from the launch point to home, where they are not the same.
    way.along(x, y, t, left, homeCorner, speed, powerW);
  }

  function laneFinder(): (x: number, y: number) => ArrayLike<number> | null {
    if (safeLane !== null && safeLane.length >= 4) return (x, y) => joinLane(safeLane, x, y);
    if (hazards.none && request.bottomDepthM == null) return () => homeCorner;
    return createWaysNow();
  }

  function createWaysNow(): (x: number, y: number) => ArrayLike<number> | null {
    const ways = createSafeWays(hazards, sea, box, home!, clearanceM, options.leastWaterM);
    let told = false;
    return (x, y) => {
      const found = ways.from(x, y);
      if (found === null && !told) {
        told = true;
        notes.push('from some places there is no safe way home: there the boat is taken to hold');
      }
      return found;
    };
  }

  function worstOfOne(mishap: Mishap): WorstMoment {
    const one = outcomes[mishap];
    let at = 0;
    let most = -Infinity;
    for (let i = 0; i < n; i++) {
      // Worst outcome first; then the furthest from home that it ends; of those that get home the one with least left.
      const far = Math.hypot(one.xM[i]! - home!.xM, one.yM[i]! - home!.yM);
      const score = 1e9 * one.outcome[i]! + (one.outcome[i] === HOME ? -one.energyLeftWh[i]! : far);
      if (score > most) [most, at] = [score, i];
    }
    const outcome = OUTCOMES[one.outcome[at]!]!;
    return { mishap, moment: at, timeS: timeS[at]!, xM: xM[at]!, yM: yM[at]!, outcome, reason: reasonOf(mishap, at) };
  }

  /** What comes of it, alone: the mishap and the time are told beside it. */
  function reasonOf(mishap: Mishap, at: number): string {
    const ends = outcomes[mishap];
    const later = ends.timeS[at]! - timeS[at]!;
    const left = `${Math.max(0, ends.energyLeftWh[at]!).toFixed(0)} Wh left`;
    const far = Math.hypot(ends.xM[at]! - home!.xM, ends.yM[at]! - home!.yM).toFixed(0);
    const then: Record<(typeof OUTCOMES)[number], string> = {
      home: later < 1 ? `it is home, with ${left}` : `it gets home in ${spanText(later)} with ${left}`,
      holds: `it still holds ${spanText(followS)} later, ${far} m from home, with ${left}`,
      drifts: `it drifts from ${later < 1 ? 'there' : laterText(later)}, ${far} m from home${ends.energyLeftWh[at]! <= 0 ? ', the battery empty' : ''}`,
      'keep-out': `it is in a keep-out ${laterText(later)}, ${far} m from home`,
      aground: `it is aground ${laterText(later)}, ${far} m from home`,
    };
    return then[OUTCOMES[ends.outcome[at]!]!];
  }

  function badness(moment: WorstMoment): number {
    const ends = outcomes[moment.mishap];
    return 1e9 * ends.outcome[moment.moment]! + Math.hypot(ends.xM[moment.moment]! - home!.xM, ends.yM[moment.moment]! - home!.yM);
  }
}

function endOf(request: RehearsalRequest): Place | null {
  const path = request.sortie.legs[request.sortie.legs.length - 1]?.path;
  return path === undefined || path.length < 2 ? null : { xM: path[path.length - 2]!, yM: path[path.length - 1]! };
}

/** The first row, and then the first at or after every moment. */
function momentRows(timeS: Float64Array, n: number, everyS: number): number[] {
  const rows: number[] = [];
  for (let i = 0; i < n; i++) if (timeS[i]! - timeS[0]! >= rows.length * everyS - 1e-6) rows.push(i);
  return rows;
}

function boxAround(xM: Float64Array, yM: Float64Array, home: Place, lane: ArrayLike<number> | null): Box {
  let [westM, southM, eastM, northM] = [home.xM, home.yM, home.xM, home.yM];
  const take = (x: number, y: number): void => {
    westM = Math.min(westM, x);
    eastM = Math.max(eastM, x);
    southM = Math.min(southM, y);
    northM = Math.max(northM, y);
  };
  for (let i = 0; i < xM.length; i++) take(xM[i]!, yM[i]!);
  if (lane !== null) for (let i = 0; i + 1 < lane.length; i += 2) take(lane[i]!, lane[i + 1]!);
  const margin = Math.max(MARGIN_M, 0.25 * Math.max(eastM - westM, northM - southM));
  return { westM: westM - margin, southM: southM - margin, eastM: eastM + margin, northM: northM + margin };
}

/** To the nearest place on a lane, then along it to its end. */
function joinLane(lane: ArrayLike<number>, x: number, y: number): number[] {
  let least = Infinity;
  let from = 0;
  let at: [number, number] = [lane[0]!, lane[1]!];
  for (let i = 0; i + 3 < lane.length; i += 2) {
    const dx = lane[i + 2]! - lane[i]!;
    const dy = lane[i + 3]! - lane[i + 1]!;
    const squared = dx * dx + dy * dy;
    const share = squared > 0 ? Math.max(0, Math.min(1, ((x - lane[i]!) * dx + (y - lane[i + 1]!) * dy) / squared)) : 0;
    const px = lane[i]! + share * dx;
    const py = lane[i + 1]! + share * dy;
    const d = Math.hypot(x - px, y - py);
    if (d < least) [least, from, at] = [d, i, [px, py]];
  }
  const corners = [...at];
  for (let i = from + 2; i + 1 < lane.length; i += 2) corners.push(lane[i]!, lane[i + 1]!);
  return corners;
}
