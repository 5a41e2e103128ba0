import type { Side } from '../../base/sonar.js';
import { groundRangeM, heightBelowM, slantOfGroundM } from '../../imagery/slant-range.js';
import { outward } from '../../imagery/sonar-track.js';
import type { LoadedPings } from '../work/imagery-messages.js';
import type { PingRun } from './ping-runs.js';

/** One echo: which ping, which side, how far it was heard. */
export interface Echo {
  readonly row: number;
  readonly side: Side;
  readonly slantM: number;
}

/** Height of the sonar above the floor straight below it at a ping [m]; NaN where it is not known. */
export function heightAt(pings: LoadedPings, row: number): number {
  return heightBelowM(pings.firstEchoM[row] as number, pings.portSlope[row] as number, pings.starboardSlope[row] as number);
}

function slopeAt(pings: LoadedPings, row: number, side: Side): number {
  return (side === 'port' ? pings.portSlope[row] : pings.starboardSlope[row]) as number;
}

/** Ground range of a slant range at a ping [m]; NaN in the water column and where the height is not known. */
export function groundOfSlant(pings: LoadedPings, row: number, side: Side, slantM: number): number {
  return groundRangeM(slantM, heightAt(pings, row), slopeAt(pings, row, side));
}

/** Slant range at which a ground range is heard at a ping [m]. */
export function slantOfGround(pings: LoadedPings, row: number, side: Side, groundM: number): number {
  return slantOfGroundM(groundM, heightAt(pings, row), slopeAt(pings, row, side));
}

/** Where an echo comes from, in the survey frame [m]; null in the water column and where the sonar's place is not known. */
export function placeOfEcho(pings: LoadedPings, { row, side, slantM }: Echo): { readonly xM: number; readonly yM: number; readonly groundM: number } | null {
  const groundM = groundOfSlant(pings, row, side, slantM);
  const [east, north] = outward(side, pings.gridHeadingDeg[row] as number);
  const xM = (pings.xM[row] as number) + east * groundM;
  const yM = (pings.yM[row] as number) + north * groundM;
  return Number.isFinite(xM) && Number.isFinite(yM) ? { xM, yM, groundM } : null;
}

/** How far before or behind its own broadside a ping may be for a place to be one it has seen, in pings along the track and at least [m]. */
const ABEAM_PINGS = 2;
const ABEAM_LEAST_M = 0.3;

/**
 * The echo of a place: the ping that had it most nearly abeam.
 *
 * Of several runs that have seen the place the one at hand goes first, then the one that passed nearest.
 * @returns null where no ping has seen it
 */
export function echoOfPlace(pings: LoadedPings, runs: readonly PingRun[], xM: number, yM: number, runAtHand: number): Echo | null {
  const order = runs.map((_, k) => k).filter((k) => k !== runAtHand);
  let best: Echo | null = null;
  let bestRangeM = Infinity;
  for (const k of runAtHand >= 0 && runAtHand < runs.length ? [runAtHand, ...order] : order) {
    const run = runs[k] as PingRun;
    // Runs on a line go before turns, which pass over the same ground askew.
    if (best !== null && run.line < 0) continue;
    const { westM, southM, eastM, northM } = run.box;
    if (!(xM >= westM && xM <= eastM && yM >= southM && yM <= northM)) continue;
    const found = abeamIn(pings, run, xM, yM);
    if (found === null) continue;
    if (k === runAtHand) return found;
    const rangeM = groundOfSlant(pings, found.row, found.side, found.slantM);
    if (best === null || rangeM < bestRangeM) [best, bestRangeM] = [found, rangeM];
  }
  return best;
}

function abeamIn(pings: LoadedPings, run: PingRun, xM: number, yM: number): Echo | null {
  const reach = Math.max(ABEAM_LEAST_M, ABEAM_PINGS * (run.alongM || 0));
  let best: Echo | null = null;
  let least = reach;
  for (let row = run.rowStart; row < run.rowEnd; row++) {
    const dx = xM - (pings.xM[row] as number);
    const dy = yM - (pings.yM[row] as number);
    const rad = ((pings.gridHeadingDeg[row] as number) * Math.PI) / 180;
    const along = Math.abs(dx * Math.sin(rad) + dy * Math.cos(rad));
    if (!(along < least)) continue;
    const across = dx * Math.cos(rad) - dy * Math.sin(rad);
    const side: Side = across < 0 ? 'port' : 'starboard';
    const slantM = slantOfGround(pings, row, side, Math.abs(across));
    if (!(slantM <= run.rangeM)) continue;
    least = along;
    best = { row, side, slantM };
  }
  return best;
}
