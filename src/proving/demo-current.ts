import { formatUtc } from '../base/time.js';

/** Half a lunar day, the period of the stream [s]. */
const PERIOD_S = 44_714;
/** Along the sound it runs at most so fast, towards 97 degrees on the flood [m/s]. */
const MOST_MPS = 0.24;
const FLOOD_DEG = 97;
/** Fastest flood, UTC. */
const FLOOD_S = Date.UTC(2026, 5, 16, 12, 10, 0) / 1000;
const STEP_S = 1800;

/** The demo's table of the stream: half-hourly over three days, as a crew would copy it from a forecast. Invented. */
export function demoCurrentCsv(): string {
  const rows = ['timeUtc,east_mps,north_mps'];
  const startS = Date.UTC(2026, 5, 16) / 1000;
  const flood = (FLOOD_DEG * Math.PI) / 180;
  for (let timeS = startS; timeS <= startS + 3 * 86_400; timeS += STEP_S) {
    const phase = (2 * Math.PI * (timeS - FLOOD_S)) / PERIOD_S;
    const along = MOST_MPS * Math.cos(phase);
    // Across the sound a little, a quarter of the period later: the stream turns through north.
    const across = 0.15 * MOST_MPS * Math.sin(phase);
    const east = along * Math.sin(flood) - across * Math.cos(flood);
    const north = along * Math.cos(flood) + across * Math.sin(flood);
    rows.push(`${formatUtc(timeS)},${east.toFixed(3)},${north.toFixed(3)}`);
  }
  return `${rows.join('\n')}\n`;
}
