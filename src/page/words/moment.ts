import { nearestRow } from '../strip/decimate.js';
import type { LoadedTrials } from '../work/read-trials.js';
import { fixed } from './figures.js';
import { clockTenths } from './trials.js';

/** What the log says of a moment, in one line. */
export function momentText({ log, groundMps }: LoadedTrials, timeS: number): string {
  const row = nearestRow(log.timeS, timeS);
  if (row < 0 || Math.abs((log.timeS[row] as number) - timeS) > 5) return clockTenths(timeS);
  const parts = [clockTenths(log.timeS[row] as number)];
  const add = (value: number | undefined, text: (value: number) => string) => {
    if (Number.isFinite(value)) parts.push(text(value as number));
  };
  add(groundMps[row], (value) => `${fixed(value, 2)} m/s`);
  add(log.headingDeg[row], (value) => `${String(Math.round(value) % 360).padStart(3, '0')}°`);
  const [port, starboard] = [log.thrusterPortPct[row] as number, log.thrusterStarboardPct[row] as number];
  if (Number.isFinite(port + starboard)) parts.push(`${fixed(port, 0)} / ${fixed(starboard, 0)} %`);
  add((log.batteryVoltageV[row] as number) * (log.batteryCurrentA[row] as number), (value) => `${fixed(value, 0)} W`);
  return parts.join(' · ');
}
