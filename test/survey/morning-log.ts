import { createFrame } from '../../src/geo/frame.js';

const START_S = Date.UTC(2026, 5, 17, 8, 0, 0) / 1000;
export const FRAME = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
/** The mark [m]. */
export const [X0, Y0] = FRAME.toFrame(46.04, -29.96);

/** The line runs along grid east; true bearings differ by tan c = tan(lon - lon0) sin lat, central meridian 27 W. */
const CONVERGENCE_DEG = (Math.atan(Math.tan((-2.96 * Math.PI) / 180) * Math.sin((46.04 * Math.PI) / 180)) * 180) / Math.PI;

function sentence(body: string): string {
  let sum = 0;
  for (const letter of body) sum ^= letter.charCodeAt(0);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}`;
}
function degrees(value: number, width: number): string {
  const whole = Math.floor(Math.abs(value));
  return `${String(whole).padStart(width, '0')}${((Math.abs(value) - whole) * 60).toFixed(6).padStart(9, '0')}`;
}
function clock(timeS: number): string {
  return new Date(Math.round(timeS * 1000)).toISOString().slice(11, 22).replaceAll(':', '');
}

/** The logger's stamp before each sentence: its clock is right here. */
function stamp(timeS: number): string {
  return `${new Date(Math.round(timeS * 1000)).toISOString()} `;
}

/**
 * A morning of instrument checks as NMEA, from first principles here: five minutes on a mark, then a line over a bank run
 * there and back four times, positions 0.3 s old, the compass 5 degrees clockwise of the bow, a current of 0.2 m/s across.
 *
 * @param northM moves all of it north [m]
 * @param laterS and to a later hour [s]
 */
export function morning(northM = 0, laterS = 0): string {
  const startS = START_S + laterS;
  const lines: string[] = [];
  const fix = (timeS: number, x: number, y: number): void => {
    const [latDeg, lonDeg] = FRAME.toGeographic(x, y + northM);
    const at = stamp(timeS);
    lines.push(at + sentence(`GPGGA,${clock(timeS)},${degrees(latDeg, 2)},N,${degrees(lonDeg, 3)},W,4,12,0.8,1.0,M,0.0,M,,`));
    lines.push(at + sentence(`GPRMC,${clock(timeS)},A,${degrees(latDeg, 2)},N,${degrees(lonDeg, 3)},W,,,170626,,`));
  };
  let random = 1;
  const noise = (): number => {
    let sum = 0;
    for (let i = 0; i < 12; i++) {
      random = (random * 48271) % 2147483647;
      sum += random / 2147483647;
    }
    return sum - 6;
  };
  for (let t = 0; t < 300; t++) fix(startS + t, X0 + 0.4 + 0.1 * noise(), Y0 + 0.1 * noise());
  const depth = (s: number): number => 6 + 2.5 * Math.tanh((s - 40) / 9);
  const crabDeg = (Math.asin(0.2 / 1.5) * 180) / Math.PI;
  for (let pass = 0; pass < 8; pass++) {
    const out = pass % 2 === 0;
    const began = startS + 600 + pass * 120;
    for (let tick = 0; tick < 80 / 1.5 / 0.1; tick++) {
      const t = tick * 0.1;
      const s = out ? 1.5 * t : 80 - 1.5 * t;
      if (tick % 2 === 0) {
        const late = out ? s - 0.45 : s + 0.45;
        fix(began + t, X0 + 100 + late + 0.03 * noise(), Y0 + 50 + 0.03 * noise());
        const heading = (out ? 90 - crabDeg : 270 + crabDeg) + CONVERGENCE_DEG + 5 + 0.5 * noise();
        lines.push(stamp(began + t) + sentence(`HEHDT,${heading.toFixed(1)},T`));
      }
      const d = depth(s) + 0.02 * noise();
      lines.push(stamp(began + t) + sentence(`SDDBT,${(d / 0.3048).toFixed(2)},f,${d.toFixed(2)},M,${(d / 1.8288).toFixed(2)},F`));
    }
  }
  return `${lines.join('\r\n')}\r\n`;
}

/** Readings of a plate that morning: transducer at 0.25 m, water of 1500 m/s as set, so that it reads the plate less 0.25. */
export const BAR_CSV = 'timeUtc;barM;readM\n2026-06-17T07:30:00Z;2;1,75\n2026-06-17T07:31:00Z;2;1,76\n2026-06-17T07:33:00Z;5;4,75\n2026-06-17T07:34:00Z;5;4,74\n2026-06-17T07:36:00Z;9;8,75\n2026-06-17T07:37:00Z;9;8,75\n';
