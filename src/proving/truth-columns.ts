import type { FixTruth, PingTruth } from './truth.js';
import type { Ping } from './echo-sounder.js';

/** Gathers the truth of pings as they are written. */
export function createPingTruth(): { add(record: number, timeS: number, ping: Ping, positionFault: number, damage: number): void; columns(): PingTruth } {
  const record: number[] = [];
  const timeS: number[] = [];
  const xM: number[] = [];
  const yM: number[] = [];
  const depthM: number[] = [];
  const echoEastM: number[] = [];
  const echoNorthM: number[] = [];
  const faultSizeM: number[] = [];
  const fault: number[] = [];
  const positionFaults: number[] = [];
  const damages: number[] = [];
  return {
    add(line, time, ping, positionFault, damage) {
      record.push(line);
      timeS.push(time);
      xM.push(ping.xM);
      yM.push(ping.yM);
      depthM.push(ping.depthM);
      echoEastM.push(ping.echoEastM);
      echoNorthM.push(ping.echoNorthM);
      faultSizeM.push(ping.faultSizeM);
      fault.push(ping.fault);
      positionFaults.push(positionFault);
      damages.push(damage);
    },
    columns: () => ({
      n: record.length,
      record: Uint32Array.from(record),
      timeS: Float64Array.from(timeS),
      xM: Float64Array.from(xM),
      yM: Float64Array.from(yM),
      depthM: Float32Array.from(depthM),
      echoEastM: Float32Array.from(echoEastM),
      echoNorthM: Float32Array.from(echoNorthM),
      faultSizeM: Float32Array.from(faultSizeM),
      fault: Uint8Array.from(fault),
      positionFault: Uint8Array.from(positionFaults),
      damage: Uint8Array.from(damages),
    }),
  };
}

/** Gathers the truth of fixes as they are written. */
export function createFixTruth(): { add(record: number, timeS: number, xM: number, yM: number, jump: boolean): void; columns(): FixTruth } {
  const record: number[] = [];
  const timeS: number[] = [];
  const xM: number[] = [];
  const yM: number[] = [];
  const jumps: number[] = [];
  return {
    add(line, time, x, y, jump) {
      record.push(line);
      timeS.push(time);
      xM.push(x);
      yM.push(y);
      jumps.push(jump ? 1 : 0);
    },
    columns: () => ({
      n: record.length,
      record: Uint32Array.from(record),
      timeS: Float64Array.from(timeS),
      xM: Float64Array.from(xM),
      yM: Float64Array.from(yM),
      jump: Uint8Array.from(jumps),
    }),
  };
}
