import type { Frame } from '../../geo/frame.js';
import { graduationFigure } from '../chart/graduate.js';
import { groundOfSlant, placeOfEcho, type Echo } from '../waterfall/echo-place.js';
import type { PingRun } from '../waterfall/ping-runs.js';
import type { LoadedPings } from '../work/imagery-messages.js';
import { clock, fixed, metres } from './figures.js';

/** From one sigma of one dimension to 95 % of a circle: sqrt(-2 ln 0.05). */
const CIRCLE_95 = 2.4477;

/** How good the place of an echo is, 95 % [m]: the sonar's own place, and its heading over the range. */
export function placeWorthM(pings: LoadedPings, row: number, groundM: number): number {
  const turned = (groundM * ((pings.headingSigmaDeg[row] as number) || 0) * Math.PI) / 180;
  return CIRCLE_95 * Math.sqrt((pings.sigmaM[row] as number) ** 2 + turned ** 2 / 2);
}

/** A place in degrees and minutes. */
export function placeText(frame: Frame, xM: number, yM: number): string {
  const [latDeg, lonDeg] = frame.toGeographic(xM, yM);
  return `${graduationFigure(latDeg, 'lat', 4)}  ${graduationFigure(lonDeg, 'lon', 4)}`;
}

/** The echo pointed at in words: when, which side, how far as heard and on the floor, where. */
export function echoText(pings: LoadedPings, echo: Echo, frame: Frame | null): { readonly where: string; readonly place: string } {
  const groundM = groundOfSlant(pings, echo.row, echo.side, echo.slantM);
  const height = pings.firstEchoM[echo.row] as number;
  const where = `${clock(pings.timeS[echo.row] as number)} · ${echo.side === 'port' ? 'port' : 'starboard'} · slant ${metres(echo.slantM)} · ${Number.isFinite(groundM) ? `ground ${metres(groundM)}` : height > 0 ? 'in the water' : 'no height known'}`;
  const place = frame === null ? null : placeOfEcho(pings, echo);
  if (place === null || frame === null) return { where, place: '' };
  const worthM = placeWorthM(pings, echo.row, place.groundM);
  return { where, place: `${placeText(frame, place.xM, place.yM)}${Number.isFinite(worthM) ? ` ± ${metres(worthM)}` : ''}` };
}

const SOURCE_WORDS = ['not known', 'heard', 'carried on, not heard', 'drawn by hand', 'from the depths'] as const;

/** Height of the sonar at a ping, and where it comes from. */
export function heightText(pings: LoadedPings, row: number): string {
  const height = pings.firstEchoM[row] as number;
  return height > 0 ? `${metres(height)} above the floor, ${SOURCE_WORDS[pings.source[row] as number] ?? 'not known'}` : 'height above the floor not known';
}

/** A run in a few words. */
export function runText({ line, rowStart }: PingRun, pings: LoadedPings): string {
  return line >= 0 ? `Line ${line} · ${clock(pings.timeS[rowStart] as number, false)}` : `Turn · ${clock(pings.timeS[rowStart] as number, false)}`;
}

export function decibels(value: number): string {
  return `${value > 0 ? '+' : ''}${fixed(value, 0)} dB`;
}
