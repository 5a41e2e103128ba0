import type { Random } from '../../src/base/random.js';
import type { Trial, TrialKind, TrialLog } from '../../src/boat/trial-log.js';

/** The boat that the synthetic trials are of: its figures are the truth. */
export const BOAT = {
  topMps: 2.8,
  tauS: 1.1,
  hotelW: 9,
  coefficient: 17,
  exponent: 3,
  /** Yaw: T r' + r = K d, d the share of full differential command; r in rad/s. */
  yawK: 1.4,
  yawT: 0.5,
  /** Speed kept in a turn at full helm: thrust falls to its square. */
  turnShare: 0.7,
  convergenceDeg: 1.3,
} as const;

/** Coasting length: tau vmax. */
export const COAST_LENGTH_M = BOAT.tauS * BOAT.topMps;

/** When the logs begin, UTC [s]. */
export const START_S = 1_780_000_000;

export interface Sea {
  /** Current at time 0, true east and north [m/s], and its change [m/s per s]. */
  readonly eastMps: number;
  readonly northMps: number;
  readonly eastRate: number;
  readonly northRate: number;
  /** White and slow (random walk per root second) errors of positions [m]. */
  readonly whiteM: number;
  readonly walkM: number;
  /** Noise of the compass [deg]. */
  readonly compassDeg: number;
  /** Wander of the thrust, and of the helm's effect, share, with a memory of 1.5 s. */
  readonly surge: number;
}

export const SEA: Sea = { eastMps: 0.22, northMps: -0.14, eastRate: -2e-5, northRate: 3e-5, whiteM: 0.02, walkM: 0.01, compassDeg: 0.8, surge: 0.03 };

/** One order in a trial: thrusters for some seconds; a heading to hold (true) or null to turn as the helm says. */
interface Order {
  readonly port: number;
  readonly starboard: number;
  readonly seconds: number;
  readonly hold: number | null;
}

/**
 * Writes a log by integrating the boat's own motion: surge with quadratic drag, first-order yaw, current, in steps of 0.02 s.
 * Nothing of the analysis is used.
 */
export class TrialWriter {
  private readonly rows: number[][] = [];
  private readonly found: Trial[] = [];
  private timeS = 0;
  private easting = 0;
  private northing = 0;
  private speed = 0;
  private psi = 0;
  private rate = 0;
  private surge = 0;
  private sheer = 0;
  private walkX = 0;
  private walkY = 0;
  private nextRowS = 0;

  constructor(
    private readonly random: Random,
    private readonly sea: Sea = SEA,
    private readonly hz = 10,
    private readonly startS = START_S,
  ) {
    // Rows fall where they fall: orders are given between them.
    this.nextRowS = random.between(0, 1 / hz);
  }

  get rowCount(): number {
    return this.rows.length;
  }

  /** What the boat really does: for truths. */
  get state(): { readonly timeS: number; readonly east: number; readonly north: number; readonly psiDeg: number; readonly rate: number; readonly speed: number } {
    return { timeS: this.timeS, east: this.easting, north: this.northing, psiDeg: (this.psi * 180) / Math.PI, rate: this.rate, speed: this.speed };
  }

  /** Sets the boat on a heading at a speed at once, away from any trial. */
  place(headingDeg: number, speedMps: number): void {
    this.psi = (headingDeg * Math.PI) / 180;
    this.speed = speedMps;
    this.rate = 0;
  }

  run({ port, starboard, seconds, hold }: Order): void {
    const dt = 0.02;
    const { sea, random } = this;
    const full = BOAT.topMps ** 2 / COAST_LENGTH_M;
    for (let i = 0; i < Math.round(seconds / dt); i++) {
      this.surge += (-this.surge / 1.5) * dt + sea.surge * Math.sqrt((2 * dt) / 1.5) * random.normal();
      this.sheer += (-this.sheer / 1.5) * dt + sea.surge * Math.sqrt((2 * dt) / 1.5) * random.normal();
      const helm = ((port - starboard) / 200) * (1 + this.sheer);
      const mean = (port + starboard) / 200;
      const push = full * Math.sign(mean) * mean * mean * (1 + this.surge) * (mean < 0 ? 0.7 : 1);
      // Induced by turning: extra drag that leaves turnShare of the speed at a yaw rate of K / 2.
      const drag = 1 + (1 / BOAT.turnShare ** 2 - 1) * (this.rate / BOAT.yawK) ** 2 * 4;
      // Surge by the midpoint rule, yaw exactly for a helm held over the step.
      const half = this.speed + ((push - (drag * this.speed * Math.abs(this.speed)) / COAST_LENGTH_M) * dt) / 2;
      const speed = this.speed + (push - (drag * half * Math.abs(half)) / COAST_LENGTH_M) * dt;
      const before = this.psi;
      const from = [this.easting, this.northing] as const;
      if (hold === null) {
        const left = Math.exp(-dt / BOAT.yawT);
        const steady = BOAT.yawK * helm;
        this.psi += steady * dt + (this.rate - steady) * BOAT.yawT * (1 - left);
        this.rate = steady + (this.rate - steady) * left;
      } else {
        this.psi = (hold * Math.PI) / 180;
        this.rate = 0;
      }
      const heading = hold === null ? (before + this.psi) / 2 : this.psi;
      const through = (this.speed + speed) / 2;
      this.speed = speed;
      this.easting += (through * Math.sin(heading) + sea.eastMps + sea.eastRate * this.timeS) * dt;
      this.northing += (through * Math.cos(heading) + sea.northMps + sea.northRate * this.timeS) * dt;
      this.walkX += sea.walkM * Math.sqrt(dt) * random.normal();
      this.walkY += sea.walkM * Math.sqrt(dt) * random.normal();
      // Rows fall in the middle of steps, orders at their ends: none is favoured.
      if (this.timeS + dt / 2 >= this.nextRowS - 1e-9) {
        this.write(port, starboard, this.timeS + dt / 2, (from[0] + this.easting) / 2, (from[1] + this.northing) / 2, heading, through);
        this.nextRowS += 1 / this.hz;
      }
      this.timeS += dt;
    }
  }

  /** Marks a trial from a row to the last written. */
  mark(kind: TrialKind, rowStart: number, series = -1, rowEnd = this.rows.length): void {
    const startS = this.rows[rowStart]![0]!;
    this.found.push({ id: `${kind}@${Math.round(startS)}`, kind, rowStart, rowEnd, startS, endS: this.rows[rowEnd - 1]![0]!, courseDeg: NaN, speedMps: NaN, commandPct: NaN, steadiness: 1, series, by: 'found', refused: '' });
  }

  private write(port: number, starboard: number, atS: number, easting: number, northing: number, heading: number, speed: number): void {
    const { random, sea } = this;
    const turn = (BOAT.convergenceDeg * Math.PI) / 180;
    // True east and north into the frame, whose north points convergence east of true north.
    const x = easting * Math.cos(turn) - northing * Math.sin(turn);
    const y = easting * Math.sin(turn) + northing * Math.cos(turn);
    const watts = BOAT.hotelW + BOAT.coefficient * (((Math.abs(port) + Math.abs(starboard)) / 200) * BOAT.topMps) ** BOAT.exponent;
    const volts = 25 + 0.02 * random.normal();
    this.rows.push([
      this.startS + atS,
      x + this.walkX + sea.whiteM * random.normal(),
      y + this.walkY + sea.whiteM * random.normal(),
      ((((heading * 180) / Math.PI + sea.compassDeg * random.normal()) % 360) + 360) % 360,
      speed,
      port,
      starboard,
      volts,
      (watts / volts) * (1 + 0.02 * random.normal()),
    ]);
  }

  log(): TrialLog {
    const n = this.rows.length;
    const column = <T extends Float64Array | Float32Array>(array: T, index: number): T => {
      for (let i = 0; i < n; i++) array[i] = this.rows[i]![index]!;
      return array;
    };
    return {
      n,
      timeS: column(new Float64Array(n), 0),
      xM: column(new Float64Array(n), 1),
      yM: column(new Float64Array(n), 2),
      sigmaM: new Float32Array(n).fill(this.sea.whiteM),
      headingDeg: column(new Float32Array(n), 3),
      speedThroughWaterMps: column(new Float32Array(n), 4),
      thrusterPortPct: column(new Float32Array(n), 5),
      thrusterStarboardPct: column(new Float32Array(n), 6),
      batteryVoltageV: column(new Float32Array(n), 7),
      batteryCurrentA: column(new Float32Array(n), 8),
      convergenceDeg: BOAT.convergenceDeg,
    };
  }

  trials(): Trial[] {
    return this.found.slice();
  }
}

/** A day of trials: reciprocal runs at four commands, starts, coasts, stops, circles, spins, zig-zags, legs. */
export function dayOfTrials(random: Random, sea: Sea = SEA, hz = 10): TrialWriter {
  const writer = new TrialWriter(random, sea, hz);
  const straight = (command: number, heading: number, seconds: number): void => writer.run({ port: command, starboard: command, seconds: seconds + random.between(0, 0.2), hold: heading });
  straight(0, 30, 40);
  let series = 0;
  for (const command of [100, 80, 60, 40]) {
    for (let i = 0; i < 3; i++) {
      const heading = 30 + 25 * series + 180 * (i % 2);
      writer.place(heading, (command / 100) * BOAT.topMps);
      straight(command, heading, 6);
      const from = writer.rowCount;
      straight(command, heading, 50);
      writer.mark('steady-run', from, series);
    }
    series++;
  }
  for (let i = 0; i < 3; i++) {
    writer.place(80 + 90 * i, 0);
    const start = writer.rowCount;
    straight(0, 80 + 90 * i, 4);
    straight(100, 80 + 90 * i, 16);
    writer.mark('standing-start', start);
    const coast = writer.rowCount;
    straight(0, 80 + 90 * i, 18);
    writer.mark('coast-down', coast);
  }
  for (let i = 0; i < 3; i++) {
    writer.place(200 + 60 * i, BOAT.topMps);
    straight(100, 200 + 60 * i, 8);
    const stop = writer.rowCount;
    straight(-100, 200 + 60 * i, 6);
    writer.mark('stop-astern', stop);
  }
  for (const side of [1, -1, 1, -1]) {
    writer.place(10, 0.7 * BOAT.topMps);
    straight(70, 10, 12);
    const turn = writer.rowCount;
    writer.run({ port: 70 + 25 * side, starboard: 70 - 25 * side, seconds: 40, hold: null });
    writer.mark('turning-circle', turn);
  }
  for (const side of [1, -1]) {
    writer.place(0, 0);
    straight(0, 0, 3);
    const spin = writer.rowCount;
    writer.run({ port: 60 * side, starboard: -60 * side, seconds: 20, hold: null });
    writer.mark('spin', spin);
  }
  for (const side of [1, -1]) {
    writer.place(100, 0.6 * BOAT.topMps);
    straight(60, 100, 5);
    const zig = writer.rowCount;
    for (let i = 0; i < 6; i++) {
      const helm = side * (i % 2 === 0 ? 1 : -1) * 20;
      writer.run({ port: 60 + helm, starboard: 60 - helm, seconds: i === 0 ? 2 : 4, hold: null });
    }
    writer.mark('zig-zag', zig);
  }
  return writer;
}

/** Still water, no noise. */
export const CALM: Sea = { eastMps: 0, northMps: 0, eastRate: 0, northRate: 0, whiteM: 0, walkM: 0, compassDeg: 0, surge: 0 };

/** What the boat's own motion gives for the turns of `dayOfTrials`, read off its states. */
export function turningTruth(random: Random): { advanceM: number; transferM: number; tacticalDiameterM: number; steadyDiameterM: number; timeTo90S: number; timeTo180S: number; timeTo360S: number; speedKept: number } {
  const writer = new TrialWriter(random, CALM);
  writer.place(0, 0.7 * BOAT.topMps);
  const begin = writer.state;
  const found: Record<number, { timeS: number; east: number; north: number }> = {};
  let last = begin;
  for (let i = 0; i < 2000; i++) {
    writer.run({ port: 95, starboard: 45, seconds: 0.02, hold: null });
    const now = writer.state;
    for (const angle of [90, 180, 360]) {
      if (!(last.psiDeg < angle && now.psiDeg >= angle)) continue;
      const share = (angle - last.psiDeg) / (now.psiDeg - last.psiDeg);
      const between = (a: number, b: number): number => a + share * (b - a);
      found[angle] = { timeS: between(last.timeS, now.timeS), east: between(last.east, now.east), north: between(last.north, now.north) };
    }
    last = now;
  }
  return {
    advanceM: found[90]!.north - begin.north,
    transferM: found[90]!.east - begin.east,
    tacticalDiameterM: found[180]!.east - begin.east,
    steadyDiameterM: (2 * last.speed) / last.rate,
    timeTo90S: found[90]!.timeS - begin.timeS,
    timeTo180S: found[180]!.timeS - begin.timeS,
    timeTo360S: found[360]!.timeS - begin.timeS,
    speedKept: last.speed / (0.7 * BOAT.topMps),
  };
}
