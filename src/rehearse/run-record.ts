import type { LegTrack } from './leg-track.js';
import type { RehearsalStop } from './rehearsal.js';
import { SUM, SUMS, type SortieWorth } from './sortie-worth.js';

/** A boat's run as it was made, before what else is known along it is added. Shape of every column: [n]. */
export interface RunRecord {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** In the frame [rad]. */
  readonly headingRad: Float64Array;
  readonly groundMps: Float64Array;
  readonly throughMps: Float64Array;
  /** Row of the leg track. */
  readonly stretch: Int32Array;
  readonly legIndex: Int32Array;
  /** Way along the leg, and off it to starboard [m]. */
  readonly legWayM: Float64Array;
  readonly crossM: Float64Array;
  readonly currentXMps: Float64Array;
  readonly currentYMps: Float64Array;
  readonly energyWh: Float64Array;
  readonly energySigmaWh: Float64Array;
  readonly legs: readonly LegRecord[];
  readonly timeSigmaS: number;
  readonly turnS: number;
  readonly stopped: RehearsalStop | null;
}

/** NaN where the leg was not come to; its end NaN where it was not ended. */
export interface LegRecord {
  startS: number;
  endS: number;
  energyWh: number;
  energySigmaWh: number;
  crabRad: number;
}

const COLUMNS = 12;

/** Rows of a run in columns that grow, and the sums of each leg. */
export class RunRecorder {
  private n = 0;
  private columns: Float64Array[];
  private readonly sigmas: number[] = [];
  private readonly legs: LegRecord[];
  private readonly crabSum: Float64Array;
  private readonly crabS: Float64Array;
  private readonly before = new Float64Array(SUMS);
  private readonly difference = new Float64Array(SUMS);

  constructor(
    private readonly track: LegTrack,
    legCount: number,
    startS: number,
    rowS: number,
    private readonly worth: SortieWorth,
  ) {
    let lengthM = 0;
    for (let i = 0; i < track.n; i++) lengthM += track.lengthM[i]!;
    const guess = Math.min(1 << 20, 256 + Math.ceil(lengthM / rowS));
    this.columns = Array.from({ length: COLUMNS }, () => new Float64Array(guess));
    this.legs = Array.from({ length: legCount }, () => ({ startS: NaN, endS: NaN, energyWh: NaN, energySigmaWh: NaN, crabRad: NaN }));
    this.crabSum = new Float64Array(legCount);
    this.crabS = new Float64Array(legCount);
    const first = this.legs[track.legIndex[0]!];
    if (first !== undefined) first.startS = startS;
  }

  row(timeS: number, x: number, y: number, heading: number, ground: number, through: number, stretch: number, along: number, cross: number, water: Float64Array, sums: Float64Array, legX: number, legY: number): void {
    if (this.n === this.columns[0]!.length) {
      this.columns = this.columns.map((column) => {
        const wider = new Float64Array(2 * column.length);
        wider.set(column);
        return wider;
      });
    }
    const i = this.n++;
    const c = this.columns;
    c[0]![i] = timeS;
    c[1]![i] = x;
    c[2]![i] = y;
    c[3]![i] = heading;
    c[4]![i] = ground;
    c[5]![i] = through;
    c[6]![i] = stretch;
    c[7]![i] = along;
    c[8]![i] = cross;
    c[9]![i] = water[0]!;
    c[10]![i] = water[1]!;
    c[11]![i] = sums[SUM.energyJ]! / 3600;
    this.sigmas[i] = this.worth.energySigmaWh(sums, this.worth.timeSigmaS(sums, legX, legY));
  }

  settled(leg: number, crabRad: number, stepS: number): void {
    this.crabSum[leg]! += crabRad * stepS;
    this.crabS[leg]! += stepS;
  }

  /** A leg ends and the next that is steered begins. */
  legEnds(leg: number, next: number, timeS: number, sums: Float64Array, legX: number, legY: number): void {
    this.close(leg, timeS, sums, legX, legY);
    // Legs without length between them take no time.
    for (let i = leg + 1; i < next; i++) Object.assign(this.legs[i]!, { startS: timeS, endS: timeS, energyWh: 0, energySigmaWh: 0 });
    this.legs[next]!.startS = timeS;
  }

  private close(leg: number, timeS: number, sums: Float64Array, legX: number, legY: number): void {
    const { difference, before } = this;
    for (let k = 0; k < SUMS; k++) difference[k] = sums[k]! - before[k]!;
    difference[SUM.byLegsS2] = 0;
    const one = this.legs[leg]!;
    one.endS = timeS;
    one.energyWh = difference[SUM.energyJ]! / 3600;
    one.energySigmaWh = this.worth.energySigmaWh(difference, this.worth.timeSigmaS(difference, legX, legY));
    one.crabRad = this.crabS[leg]! > 0 ? this.crabSum[leg]! / this.crabS[leg]! : NaN;
    before.set(sums);
  }

  finish(leg: number, endS: number, sums: Float64Array, legX: number, legY: number, stopped: RehearsalStop | null): RunRecord {
    this.close(leg, endS, sums, legX, legY);
    if (stopped !== null) this.legs[leg]!.endS = NaN;
    const { n, columns, track } = this;
    const stretches = columns[6]!;
    const part = (k: number): Float64Array => columns[k]!.slice(0, n);
    return {
      n,
      timeS: part(0),
      xM: part(1),
      yM: part(2),
      headingRad: part(3),
      groundMps: part(4),
      throughMps: part(5),
      stretch: Int32Array.from(stretches.subarray(0, n)),
      legIndex: Int32Array.from({ length: n }, (_, i) => track.legIndex[stretches[i]!]!),
      legWayM: Float64Array.from({ length: n }, (_, i) => track.legWayM[stretches[i]!]! + columns[7]![i]!),
      crossM: part(8),
      currentXMps: part(9),
      currentYMps: part(10),
      energyWh: part(11),
      energySigmaWh: Float64Array.from(this.sigmas),
      legs: this.legs,
      timeSigmaS: this.worth.timeSigmaS(sums, legX, legY),
      turnS: sums[SUM.turnS]!,
      stopped,
    };
  }
}
