import { createFrame, frameSettingFor } from '../geo/frame.js';
import { checksumText, gga, gst, hdt, rmc, zda, type FixValues } from './nmea-sentences.js';
import { TRIALS_PLACE } from './trials-instruments.js';
import type { ProvingTrials } from './trials.js';

export interface TrialsLogOptions {
  /** Where the middle of the trials lies; the place of `trialLogOf` when left out. */
  readonly latDeg?: number;
  readonly lonDeg?: number;
  /** Antenna ahead of the boat's reference point [m]; where it was drawn when left out. */
  readonly antennaForwardM?: number;
  /** Age of a position when it is stamped [s]. */
  readonly latencyS?: number;
}

const KNOT_MPS = 1852 / 3600;

/**
 * The trials as a log of NMEA 0183 sentences: GGA, RMC and GST at every epoch, HDT, VHW, XDR with thruster orders and battery,
 * ZDA every second, each after a TAG block with the logger's time in milliseconds (NMEA 0183 4.10), so that heading and orders
 * have times of their own. A missing epoch is missing in the log. Lines end in CR LF.
 */
export function trialsNmea(run: ProvingTrials, options: TrialsLogOptions = {}): string {
  const { readings, track, boat } = run;
  const latDeg = options.latDeg ?? TRIALS_PLACE.latDeg;
  const lonDeg = options.lonDeg ?? TRIALS_PLACE.lonDeg;
  const latencyS = options.latencyS ?? 0;
  const shiftM = options.antennaForwardM === undefined ? 0 : options.antennaForwardM - boat.antennaAheadM;
  const frame = createFrame(frameSettingFor(latDeg, lonDeg));
  const [middleX, middleY] = frame.toFrame(latDeg, lonDeg);
  const [northX, northY] = frame.toFrame(latDeg + 1e-4, lonDeg);
  const lean = Math.atan2(northX - middleX, northY - middleY);
  const { slowM, quickM, whiteM } = run.options;
  const lines: string[] = [];
  let tag = '';
  const say = (body: string): void => {
    lines.push(`${tag}$${body}*${checksumText(body)}\r\n`);
  };
  let before = 0;
  let lastSecond = NaN;
  for (let i = 0; i < readings.n; i++) {
    const timeS = readings.timeS[i]!;
    const stamp = `c:${Math.round(timeS * 1000)}`;
    tag = `\\${stamp}*${checksumText(stamp)}\\`;
    while (before + 1 < i && readings.timeS[before + 1]! <= timeS - latencyS) before++;
    // Where the antenna was when the position was made, between the epochs about it.
    const span = readings.timeS[before + 1]! - readings.timeS[before]!;
    const share = latencyS === 0 || i === 0 ? NaN : (timeS - latencyS - readings.timeS[before]!) / span;
    const own = !(share >= 0 && share <= 1 && span < 0.5);
    const row = readings.trackRow[own ? i : before]!;
    const bow = (track.headingDeg[row]! * Math.PI) / 180;
    const read = (column: Float64Array): number => (own ? column[i]! : column[before]! + share * (column[before + 1]! - column[before]!));
    const east = read(readings.eastM) + shiftM * Math.sin(bow);
    const north = read(readings.northM) + shiftM * Math.cos(bow);
    const [lat, lon] = frame.toGeographic(middleX + east * Math.cos(lean) + north * Math.sin(lean), middleY - east * Math.sin(lean) + north * Math.cos(lean));
    const groundEast = read(readings.groundEastMps);
    const groundNorth = read(readings.groundNorthMps);
    const fix: FixValues = {
      timeS,
      latDeg: lat,
      lonDeg: lon,
      heightM: 2.1,
      geoidM: 52.4,
      sigmaM: Math.hypot(slowM, quickM, whiteM),
      satellites: 17,
      hdop: 0.7,
      courseDeg: ((Math.atan2(groundEast, groundNorth) * 180) / Math.PI + 360) % 360,
      speedMps: Math.hypot(groundEast, groundNorth),
      valid: true, quality: 2,
    };
    say(gga(fix));
    say(rmc(fix));
    say(gst(fix));
    if (Math.floor(timeS) !== lastSecond) say(zda(timeS));
    lastSecond = Math.floor(timeS);
    if (!Number.isNaN(readings.headingDeg[i]!)) say(hdt(readings.headingDeg[i]!));
    if (!Number.isNaN(readings.speedThroughWaterMps[i]!)) say(vhw(readings.speedThroughWaterMps[i]!));
    const groups = [
      ...(Number.isNaN(readings.portPct[i]!) ? [] : [`G,${readings.portPct[i]!.toFixed(1)},P,THR_PORT`, `G,${readings.starboardPct[i]!.toFixed(1)},P,THR_STBD`]),
      ...(Number.isNaN(readings.voltageV[i]!) ? [] : [`U,${readings.voltageV[i]!.toFixed(2)},V,BATTERY`, `I,${readings.currentA[i]!.toFixed(3)},A,BATTERY`]),
    ];
    if (groups.length > 0) say(`IIXDR,${groups.join(',')}`);
  }
  return lines.join('');
}

/** Speed through the water alone; headings are HDT's. */
function vhw(speedMps: number): string {
  return `VWVHW,,T,,M,${(speedMps / KNOT_MPS).toFixed(2)},N,${(speedMps * 3.6).toFixed(2)},K`;
}
