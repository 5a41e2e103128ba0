import { pointSegmentDistanceM } from '../geo/segment.js';
import { repeatsFor, USUAL_SCATTER, withPositions } from './trial-plan-accuracy.js';
import { lackOf, scatterOf } from './trial-plan-boat.js';
import { aboutS, energyWh, pathFromHome, planned, sayIfShort, straightFor, trueHeadingDeg, type TrialWork } from './trial-plan-lay.js';

const LOG_TURN = 'time, position, heading, thruster commands';
const HELM_PCT = 25;
const TURNED_DEG = 540;
/** Steady on the approach before the order [s]; speed kept in a turn, for its time. */
const STEADY_S = 8;
const SPEED_KEPT = 0.75;
/** Room about the middle of a circle, in diameters: the advance beyond it, and a boat that turns wider than thought. */
const ROOM_DIAMETERS = 1;
/** Speeds of circles that lie within this share are one, as in the card. */
const SAME_SPEED_SHARE = 0.12;
const HEADINGS = 16;
const CIRCLE_STEPS = 36;

type Side = 'port' | 'starboard';

/** Speeds and sides that circles are lacking at, with why. */
export function circlesWanted(work: Pick<TrialWork, 'request' | 'boat' | 'wanted'>): { readonly commandPct: number; readonly sides: readonly { readonly side: Side; readonly lack: string }[] }[] {
  const { boat, request } = work;
  const commands = [boat.commandFor(boat.surveyMps)];
  if (boat.speedAt(70) > boat.surveyMps * (1 + SAME_SPEED_SHARE)) commands.push(70);
  return commands.map((commandPct) => ({
    commandPct,
    sides: (['starboard', 'port'] as const).flatMap((side) => {
      const speed = boat.speedAt(commandPct);
      const known = request.card.turning.find((one) => one.side === side && Math.abs(one.atSpeedMps - speed) < SAME_SPEED_SHARE * speed);
      const lack = known === undefined ? 'missing' : lackOf(known.tacticalDiameterM, work.wanted('turning'));
      return lack !== '' ? [{ side, lack }] : request.everything === true ? [{ side, lack: 'again' }] : [];
    }),
  }));
}

/** Turning circles at one command to the sides wanted, from one place where both fit, else each from its own. */
export function layCircles(work: TrialWork, commandPct: number, sides: readonly { readonly side: Side; readonly lack: string }[]): void {
  const { boat, positionSigmaM } = work;
  const speedMps = boat.speedAt(commandPct);
  const radiusM = boat.turnM / 2;
  const turnS = ((TURNED_DEG / 360) * Math.PI * boat.turnM) / (SPEED_KEPT * speedMps);
  const runUp = boat.runUp(speedMps);
  const approachM = runUp.wayM + STEADY_S * speedMps;
  const approachS = runUp.timeS + STEADY_S;
  const roundM = work.clearanceM + ROOM_DIAMETERS * boat.turnM + work.driftMps * turnS;
  const wanted95 = work.wanted('turning');
  const known = work.request.card.turning[0]?.tacticalDiameterM ?? null;
  const need = repeatsFor(wanted95, withPositions(scatterOf(known, USUAL_SCATTER.turning), positionSigmaM, boat.turnM, turnS / 3));
  const together = circlePlace(work, sides.map(({ side }) => side), approachM, radiusM, roundM);
  for (const { side, lack } of sides) {
    const title = `Turning circle to ${side}, ${speedMps.toFixed(1)} m/s`;
    const place = together ?? circlePlace(work, [side], approachM, radiusM, roundM);
    if (place === null) {
      work.shortfalls.push({ what: title, why: `a free round of ${roundM.toFixed(0)} m radius at the end of a free straight of ${approachM.toFixed(0)} m is needed, and there is none`, remedy: 'find more open water, or wait for slack water, when the boat drifts less' });
      continue;
    }
    const { xM, yM, gridDeg } = place;
    const [ux, uy] = unit(gridDeg);
    const sense = side === 'starboard' ? 1 : -1;
    const [centreXM, centreYM] = [xM + sense * radiusM * uy, yM - sense * radiusM * ux];
    const path = [xM - approachM * ux, yM - approachM * uy];
    for (let k = 0; k <= CIRCLE_STEPS; k++) {
      const angle = (2 * Math.PI * k) / CIRCLE_STEPS;
      path.push(centreXM - sense * radiusM * (uy * Math.cos(angle)) + radiusM * ux * Math.sin(angle), centreYM + sense * radiusM * (ux * Math.cos(angle)) + radiusM * uy * Math.sin(angle));
    }
    const durationS = need.repeats * (approachS + turnS + aboutS(work) + approachM / boat.surveyMps);
    const [more, less] = [commandPct + HELM_PCT, commandPct - HELM_PCT];
    work.trials.push(planned({
      kind: 'turning-circle',
      title,
      command: side === 'starboard' ? `port ${Math.min(100, more)} %, starboard ${less} %` : `port ${less} %, starboard ${Math.min(100, more)} %`,
      commandPct,
      speedMps,
      headingDeg: trueHeadingDeg(work, Float64Array.from(path)),
      side,
      passes: need.repeats,
      runUpM: runUp.wayM,
      lengthM: STEADY_S * speedMps,
      path: Float64Array.from(path),
      centreXM,
      centreYM,
      radiusM,
      roomM: roundM,
      wanted95,
      expected95: need.share95,
      durationS,
      energyWh: energyWh(work, speedMps, durationS),
      how: `Both thrusters at the mean of the command, steady on the approach for ${STEADY_S} s. At its end order the command and hold it for one and a half turns (${TURNED_DEG}°), whatever the drift. Come back to the start by hand.`,
      log: LOG_TURN,
      why: `advance, transfer, diameters, speed kept in the turn: ${lack}; its drift gives the current`,
    }));
    sayIfShort(work, title, need.share95, wanted95, 'a receiver with corrections: a circle is only a few times the error of the positions');
  }
}

function unit(gridDeg: number): [number, number] {
  const angle = (gridDeg * Math.PI) / 180;
  return [Math.sin(angle), Math.cos(angle)];
}

/** Rounds keep this far from other trials where there is water enough, so that the chart can be read [m]. */
const APART_M = 6;

/** Whether a round lies apart from all trials laid so far. */
function isApart(work: TrialWork, xM: number, yM: number, radiusM: number): boolean {
  return work.trials.every(({ path, centreXM, centreYM, radiusM: other }) => {
    if (Number.isFinite(centreXM) && Math.hypot(xM - centreXM, yM - centreYM) < radiusM + other + APART_M) return false;
    return path.length < 4 || pointSegmentDistanceM(xM, yM, path[0]!, path[1]!, path[2]!, path[3]!) >= radiusM + APART_M;
  });
}

type CirclePlace = { readonly xM: number; readonly yM: number; readonly gridDeg: number };

/** The place nearest home to order the helm at: rounds to all sides free, and the straight that leads there; apart from other trials where that can be. */
function circlePlace(work: TrialWork, sides: readonly Side[], approachM: number, radiusM: number, roundM: number): CirclePlace | null {
  return placeOfCircle(work, sides, approachM, radiusM, roundM, true) ?? placeOfCircle(work, sides, approachM, radiusM, roundM, false);
}

function placeOfCircle(work: TrialWork, sides: readonly Side[], approachM: number, radiusM: number, roundM: number, apart: boolean): CirclePlace | null {
  const { water, clearanceM } = work;
  const firstDeg = work.main?.gridDeg ?? 0;
  for (const [xM, yM] of water.places(Math.max(clearanceM, roundM - radiusM))) {
    for (let k = 0; k < HEADINGS; k++) {
      const gridDeg = (firstDeg + (k * 360) / HEADINGS) % 360;
      const [ux, uy] = unit(gridDeg);
      const free = sides.every((side) => {
        const sense = side === 'starboard' ? 1 : -1;
        const [centreX, centreY] = [xM + sense * radiusM * uy, yM - sense * radiusM * ux];
        return water.isFreeRound(centreX, centreY, roundM) && (!apart || isApart(work, centreX, centreY, radiusM));
      });
      if (free && water.isFree(xM - approachM * ux, yM - approachM * uy, xM, yM, clearanceM)) return { xM, yM, gridDeg };
    }
  }
  return null;
}

const SPIN_TURNS = 3;
/** How far from the middle any of the boat gets while it spins, in boat lengths. */
const SPIN_LENGTHS = 1.5;

/** Spins on the spot, both ways. */
export function laySpins(work: TrialWork, why: string): void {
  const { boat } = work;
  const wanted95 = work.wanted('spinRate');
  const need = repeatsFor(wanted95, scatterOf(work.request.card.figures.spinRate, USUAL_SCATTER.spin));
  const spinS = (SPIN_TURNS * 360) / boat.spinDegps;
  const radiusM = SPIN_LENGTHS * work.request.card.lengthM;
  const roomM = work.clearanceM + radiusM + work.driftMps * spinS;
  let place: readonly [number, number] | null = null;
  for (const each of work.water.places(roomM)) {
    place ??= each;
    if (!isApart(work, each[0], each[1], radiusM)) continue;
    place = each;
    break;
  }
  if (place === null) {
    work.shortfalls.push({ what: 'Spins on the spot', why: `a free round of ${roomM.toFixed(0)} m radius is needed, and there is none`, remedy: 'find more open water, or wait for slack water' });
    return;
  }
  const passes = 2 * Math.ceil(need.repeats / 2);
  const durationS = passes * (spinS + 15);
  work.trials.push(planned({
    kind: 'spin',
    title: 'Spins on the spot, both ways',
    command: 'one 60 %, the other astern to balance',
    passes,
    centreXM: place[0],
    centreYM: place[1],
    radiusM,
    roomM,
    wanted95,
    expected95: need.share95,
    durationS,
    energyWh: energyWh(work, 0.6 * boat.topMps, durationS),
    how: `From rest, one thruster ahead and the other astern so that the boat makes no way; ${SPIN_TURNS} full turns. To starboard and to port by turns, at rest in between.`,
    log: LOG_TURN,
    why,
  }));
  sayIfShort(work, 'spinning on the spot', need.share95, wanted95, 'less wind, or accept it');
}

const ZIG_ZAG_DEG = 20;
const REVERSALS = 5;
/** From one reversal to the next, at most [s]; how far the boat swings to either side of its line [m]. Common practice. */
const SWING_S = 6;
const SWING_SIDE_M = 4;

/** 20/20 zig-zags at survey speed, first to one side and then to the other. */
export function layZigZags(work: TrialWork, why: string): void {
  const { boat } = work;
  const speedMps = boat.surveyMps;
  const wanted95 = work.wanted('nomotoT');
  const need = repeatsFor(wanted95, scatterOf(work.request.card.figures.nomotoT, USUAL_SCATTER.zigZag));
  const runUp = boat.runUp(speedMps);
  const weaveS = (REVERSALS + 1) * SWING_S;
  const totalS = runUp.timeS + STEADY_S + weaveS;
  const runUpM = runUp.wayM + STEADY_S * speedMps;
  const neededM = runUpM + weaveS * speedMps + work.driftMps * totalS;
  const roomM = work.clearanceM + SWING_SIDE_M + work.driftMps * weaveS;
  const straight = straightFor(work, neededM, roomM);
  const title = `Zig-zags ${ZIG_ZAG_DEG}/${ZIG_ZAG_DEG}`;
  if (straight === null || straight.lengthM < neededM - 1) {
    work.shortfalls.push({ what: title, why: `a free straight of ${neededM.toFixed(0)} m with ${roomM.toFixed(0)} m on every side is needed, ${(straight?.lengthM ?? 0).toFixed(0)} m is the longest there is`, remedy: 'find more open water, or wait for slack water, when the boat drifts less' });
    return;
  }
  const passes = 2 * Math.ceil(need.repeats / 2);
  const path = pathFromHome(work, straight);
  const durationS = passes * (totalS + aboutS(work));
  const commandPct = boat.commandFor(speedMps);
  work.trials.push(planned({
    kind: 'zig-zag',
    title,
    command: `${commandPct} % ± 12 % helm`,
    commandPct,
    speedMps,
    headingDeg: trueHeadingDeg(work, path),
    reciprocal: true,
    passes,
    runUpM,
    lengthM: straight.lengthM - runUpM,
    path,
    roomM,
    wanted95,
    expected95: need.share95,
    durationS,
    energyWh: energyWh(work, speedMps, durationS),
    how: `Steady on the heading for ${STEADY_S} s. Order the helm to starboard; at ${ZIG_ZAG_DEG}° change of heading order it to port, at ${ZIG_ZAG_DEG}° on the other side back again, ${REVERSALS} reversals. The next pass starts to port.`,
    log: LOG_TURN,
    why,
  }));
  sayIfShort(work, 'yaw response', need.share95, wanted95, 'less wind, or accept it');
}
