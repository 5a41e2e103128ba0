import type { BoatModel } from '../boat/boat-model.js';
import type { Hazards } from './hazards.js';
import { OUTCOMES, type OutcomeColumns } from './rehearsal.js';
import type { SeaCache } from './sea-cache.js';

export const [HOME, HOLDS, DRIFTS, KEEP_OUT, AGROUND] = OUTCOMES.map((_, i) => i) as [number, number, number, number, number];

/** Longest piece of a way between looks at the sea [m], and steps of holding and drifting [s]. */
const PIECE_M = 50;
const HOLD_STEP_S = 300;
const DRIFT_STEP_S = 120;
/** Slower over the ground than this it makes no way [m/s]. */
const LEAST_WAY_MPS = 0.03;

/** Where one way of coming home, holding or drifting ends. */
export interface End {
  outcome: number;
  timeS: number;
  xM: number;
  yM: number;
  energyLeftWh: number;
}

/** What follows from a place and a time on. */
export class WayHome {
  readonly end: End = { outcome: HOME, timeS: NaN, xM: NaN, yM: NaN, energyLeftWh: NaN };
  private readonly drift = new Float64Array(2);

  constructor(
    private readonly boat: BoatModel,
    private readonly sea: SeaCache,
    private readonly hazards: Hazards,
    private readonly followS: number,
  ) {}

  powerW(speedMps: number): number {
    return this.boat.hotelW + this.boat.powerCoefficient * speedMps ** this.boat.powerExponent;
  }

  into(columns: OutcomeColumns, i: number): void {
    const { end } = this;
    columns.outcome[i] = end.outcome;
    columns.timeS[i] = end.timeS;
    columns.xM[i] = end.xM;
    columns.yM[i] = end.yM;
    columns.energyLeftWh[i] = end.energyLeftWh;
  }

  private set(outcome: number, timeS: number, xM: number, yM: number, energyLeftWh: number): void {
    const { end } = this;
    end.outcome = outcome;
    end.timeS = timeS;
    end.xM = xM;
    end.yM = yM;
    end.energyLeftWh = energyLeftWh;
  }

  /** Along corners to the last of them, at a speed through the water and a power. */
  along(xM: number, yM: number, timeS: number, energyLeftWh: number, corners: ArrayLike<number>, speedMps: number, powerW: number): void {
    const { sea, hazards, drift } = this;
    let x = xM;
    let y = yM;
    let t = timeS;
    let left = energyLeftWh;
    const wattHours = powerW / 3600;
    let fromClear = false;
    for (let k = 0; k + 1 < corners.length; k += 2) {
      const dx = corners[k]! - x;
      const dy = corners[k + 1]! - y;
      const length = Math.sqrt(dx * dx + dy * dy);
      if (length < 1e-9) continue;
      const met = hazards.none ? null : hazards.firstOn(x, y, corners[k]!, corners[k + 1]!, fromClear);
      fromClear = true;
      const reach = met === null ? length : met.atM;
      const ux = dx / length;
      const uy = dy / length;
      const fromX = x;
      const fromY = y;
      for (let done = 0; done < reach; ) {
        const piece = Math.min(PIECE_M, reach - done);
        sea.driftInto(x + 0.5 * piece * ux, y + 0.5 * piece * uy, t, drift);
        const alongMps = drift[0]! * ux + drift[1]! * uy;
        const side = drift[0]! * uy - drift[1]! * ux;
        const rest = speedMps * speedMps - side * side;
        const ground = rest > 0 ? Math.sqrt(rest) + alongMps : 0;
        if (ground < LEAST_WAY_MPS) return this.drifts(x, y, t, left);
        const seconds = piece / ground;
        if (left < seconds * wattHours) {
          const could = Math.max(0, left) / wattHours;
          return this.drifts(x + could * ground * ux, y + could * ground * uy, t + could, 0);
        }
        left -= seconds * wattHours;
        t += seconds;
        done += piece;
        x = fromX + done * ux;
        y = fromY + done * uy;
        const depth = sea.depthLessDraftM(x, y);
        if (depth + sea.levelM(t) < 0) return this.set(AGROUND, t, x, y, left);
      }
      if (met !== null) return this.set(met.kind === 'land' ? AGROUND : KEEP_OUT, t, x, y, left);
      x = corners[k]!;
      y = corners[k + 1]!;
    }
    this.set(HOME, t, x, y, left);
  }

  /** Holds its place against the current as long as is followed, or as it can. */
  holds(xM: number, yM: number, timeS: number, energyLeftWh: number): void {
    const { sea, drift, boat } = this;
    let left = energyLeftWh;
    for (let s = 0; s < this.followS; s += HOLD_STEP_S) {
      sea.driftInto(xM, yM, timeS + s, drift);
      const against = Math.sqrt(drift[0]! * drift[0]! + drift[1]! * drift[1]!);
      if (against > boat.topSpeedMps) return this.drifts(xM, yM, timeS + s, left);
      const depth = sea.depthLessDraftM(xM, yM);
      if (depth + sea.levelM(timeS + s) < 0) return this.set(AGROUND, timeS + s, xM, yM, left);
      const spent = (this.powerW(against) * HOLD_STEP_S) / 3600;
      if (left < spent) return this.drifts(xM, yM, timeS + s + (Math.max(0, left) / spent) * HOLD_STEP_S, 0);
      left -= spent;
    }
    this.set(HOLDS, timeS + this.followS, xM, yM, left);
  }

  /** Goes with the water: onto something within the time followed, else told from where it began to drift. */
  drifts(xM: number, yM: number, timeS: number, energyLeftWh: number): void {
    const { sea, hazards, drift } = this;
    let x = xM;
    let y = yM;
    for (let s = 0; s < this.followS; s += DRIFT_STEP_S) {
      sea.driftInto(x, y, timeS + s, drift);
      const toX = x + drift[0]! * DRIFT_STEP_S;
      const toY = y + drift[1]! * DRIFT_STEP_S;
      const met = hazards.none ? null : hazards.firstOn(x, y, toX, toY, s > 0);
      if (met !== null) {
        const way = Math.hypot(toX - x, toY - y);
        const share = way > 0 ? met.atM / way : 0;
        return this.set(met.kind === 'land' ? AGROUND : KEEP_OUT, timeS + s + share * DRIFT_STEP_S, x + share * (toX - x), y + share * (toY - y), energyLeftWh);
      }
      if (sea.depthLessDraftM(toX, toY) + sea.levelM(timeS + s + DRIFT_STEP_S) < 0) return this.set(AGROUND, timeS + s + DRIFT_STEP_S, toX, toY, energyLeftWh);
      x = toX;
      y = toY;
    }
    this.set(DRIFTS, timeS, xM, yM, energyLeftWh);
  }
}

/** Columns for n moments. */
export function outcomeColumns(n: number): OutcomeColumns {
  return { outcome: new Uint8Array(n), timeS: new Float64Array(n), xM: new Float64Array(n), yM: new Float64Array(n), energyLeftWh: new Float64Array(n) };
}
