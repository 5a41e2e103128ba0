import type { Raster } from '../geo/raster.js';
import { errorFigures, shareOf } from './error-figures.js';
import type { ErrorFigures, Share } from './error-figures.js';
import { createFloor } from './floor.js';
import type { Floor } from './floor.js';
import { LINE_DAMAGE, PING_FAULTS, POSITION_FAULTS } from './truth.js';
import type { LogTruth, PingTruth, Truth } from './truth.js';

/** Soundings as the chain under test gave them. Shape of every column: [n]. */
export interface ResultColumns {
  readonly n: number;
  /** Index into `logFiles`, and 0-based record in that log. */
  readonly log: ArrayLike<number>;
  readonly record: ArrayLike<number>;
  readonly xM: ArrayLike<number>;
  readonly yM: ArrayLike<number>;
  /** Below datum [m]. */
  readonly depthM: ArrayLike<number>;
  /** Claimed, 95 % [m]. */
  readonly tvuM: ArrayLike<number>;
  readonly thuM: ArrayLike<number>;
  /** 0: good; any other number is a reason. */
  readonly reason: ArrayLike<number>;
}

/** A surface as the chain under test gave it. */
export interface ResultSurface {
  readonly depth: Raster;
  /** Claimed, 95 %, on the same grid [m]. */
  readonly uncertaintyM?: ArrayLike<number>;
  /** Soundings in each cell, on the same grid; 0: filled from its neighbours. */
  readonly count?: ArrayLike<number>;
}

/** How many spikes of a range of sizes were found. */
export interface SpikeFigures {
  /** Size [m]: from, and up to but not including. */
  readonly fromM: number;
  readonly toM: number;
  /** Those that reached the chain: their sentence survived. */
  readonly injected: number;
  readonly flagged: number;
  readonly missed: number;
}

/** How good a chain is against the truth. Errors are result less truth: positive is too deep. */
export interface ProvingFigures {
  readonly pings: {
    readonly written: number;
    readonly results: number;
    /** Results that join a ping by log and record. */
    readonly joined: number;
    /** Results that join none: the chain made them up or counts lines in another way. */
    readonly strangers: number;
    /** Pings whose sentence was whole and held a number but that have no result. */
    readonly lost: number;
  };
  readonly good: {
    readonly n: number;
    /** Against the floor at the position the chain reports, and at where the transducer truly was. */
    readonly atReported: ErrorFigures;
    readonly atTrue: ErrorFigures;
    readonly position: ErrorFigures;
    /** Claims that contain the truth: TVU against the floor at the reported and at the true position, THU against the true position. */
    readonly tvuAtReported: Share;
    readonly tvuAtTrue: Share;
    readonly thu: Share;
    readonly tvuMeanM: number;
    readonly thuMeanM: number;
  };
  readonly spikes: readonly SpikeFigures[];
  /** Pings without any fault that were set aside, and for which reason (by its number). */
  readonly goodFlagged: Share;
  readonly goodFlaggedByReason: Readonly<Record<string, number>>;
  readonly dropoutsFlagged: Share;
  readonly frozenFlagged: Share;
  /** Pings beside a jumped fix that were set aside; and those kept whose position is off by more than 2 m. */
  readonly jumpsFlagged: Share;
  readonly jumpsKeptOff: number;
  readonly surface: {
    readonly all: SurfaceFigures;
    /** Where the floor's slope is under 5 degrees. */
    readonly gentle: SurfaceFigures;
    /** By whether the cell holds soundings, any slope; null where counts were not given. */
    readonly measured: SurfaceFigures | null;
    readonly filled: SurfaceFigures | null;
    /** Gentle, by whether the cell holds soundings; null where counts were not given. */
    readonly gentleMeasured: SurfaceFigures | null;
    readonly gentleFilled: SurfaceFigures | null;
  } | null;
}

export interface SurfaceFigures extends ErrorFigures {
  /** Cells whose claimed uncertainty contains the truth. */
  readonly within: Share;
}

const SPIKE_EDGES_M = [0, 1, 2.5, Infinity] as const;
const GENTLE_DEG = 5;
const FAULT = Object.fromEntries(PING_FAULTS.map((name, code) => [name, code])) as Record<(typeof PING_FAULTS)[number], number>;
const POSITION = Object.fromEntries(POSITION_FAULTS.map((name, code) => [name, code])) as Record<(typeof POSITION_FAULTS)[number], number>;
const SPOILT = new Set(['checksum', 'truncated', 'cut-merged'].map((name) => LINE_DAMAGE.indexOf(name as (typeof LINE_DAMAGE)[number])));

/**
 * Holds soundings and a surface against the truth.
 *
 * @param logFiles file name of each log index of the soundings; a folder before the name does not matter
 * @throws RangeError where a log of the truth is not among logFiles, or the surface's columns do not fit its grid
 */
export function compareWithTruth(truth: Truth, logFiles: readonly string[], soundings: ResultColumns, surface: ResultSurface | null): ProvingFigures {
  const floor = createFloor(truth.floorSeed);
  const joined = joinTruth(truth, logFiles, soundings);
  return { ...soundingFigures(truth, soundings, joined, floor), surface: surface === null ? null : surfaceFigures(surface, floor) };
}

/** For every result the log of the truth and the row in it; -1 where it joins none. */
interface Joined {
  readonly log: Int32Array;
  readonly row: Int32Array;
  readonly strangers: number;
  readonly lost: number;
}

function joinTruth(truth: Truth, logFiles: readonly string[], soundings: ResultColumns): Joined {
  const baseName = (file: string): string => file.slice(Math.max(file.lastIndexOf('/'), file.lastIndexOf('\\')) + 1);
  const truthOf = logFiles.map((file) => truth.logs.findIndex((log) => log.file === baseName(file)));
  for (const [index, log] of truth.logs.entries()) {
    if (!truthOf.includes(index)) throw new RangeError(`logFiles: expected ${log.file} among them, found ${logFiles.join(', ') || 'none'}`);
  }
  const rowOf = truth.logs.map((log) => {
    const rows = new Map<number, number>();
    for (let i = 0; i < log.pings.n; i++) rows.set(log.pings.record[i]!, i);
    return rows;
  });
  const seen = truth.logs.map((log) => new Uint8Array(log.pings.n));
  const log = new Int32Array(soundings.n).fill(-1);
  const row = new Int32Array(soundings.n).fill(-1);
  let strangers = 0;
  for (let i = 0; i < soundings.n; i++) {
    const index = truthOf[soundings.log[i]!] ?? -1;
    const found = index < 0 ? undefined : rowOf[index]!.get(soundings.record[i]!);
    if (found === undefined) {
      strangers++;
      continue;
    }
    log[i] = index;
    row[i] = found;
    seen[index]![found] = 1;
  }
  let lost = 0;
  for (const [index, { pings }] of truth.logs.entries()) {
    for (let i = 0; i < pings.n; i++) if (seen[index]![i] === 0 && !SPOILT.has(pings.damage[i]!) && !isBlank(pings, i)) lost++;
  }
  return { log, row, strangers, lost };
}

/** Whether a ping was written as an empty field: a dropout whose size is not a number. A dropout written as 0 has one. */
function isBlank(pings: PingTruth, row: number): boolean {
  return pings.fault[row] === FAULT.dropout && Number.isNaN(pings.faultSizeM[row]!);
}

function soundingFigures(truth: Truth, soundings: ResultColumns, joined: Joined, floor: Floor): Omit<ProvingFigures, 'surface'> {
  const n = soundings.n;
  const atReported = new Float64Array(n).fill(NaN);
  const atTrue = new Float64Array(n).fill(NaN);
  const position = new Float64Array(n).fill(NaN);
  let good = 0;
  let withinReported = 0;
  let withinTrue = 0;
  let withinThu = 0;
  let tvuSum = 0;
  let thuSum = 0;
  let jumpsKeptOff = 0;
  const counts = { clean: [0, 0], dropout: [0, 0], frozen: [0, 0], jump: [0, 0] };
  const tally = (pair: number[], flagged: boolean): void => {
    pair[1]!++;
    if (flagged) pair[0]!++;
  };
  const goodFlaggedByReason: Record<string, number> = {};
  const spikes = SPIKE_EDGES_M.slice(0, -1).map((fromM, k) => ({ fromM, toM: SPIKE_EDGES_M[k + 1]!, injected: 0, flagged: 0, missed: 0 }));
  for (let i = 0; i < n; i++) {
    if (joined.row[i]! < 0) continue;
    const { pings }: LogTruth = truth.logs[joined.log[i]!]!;
    const row = joined.row[i]!;
    const flagged = soundings.reason[i] !== 0;
    const fault = pings.fault[row]!;
    const positionFault = pings.positionFault[row]!;
    if (fault === FAULT.none && positionFault === POSITION.none) {
      tally(counts.clean, flagged);
      if (flagged) goodFlaggedByReason[String(soundings.reason[i])] = (goodFlaggedByReason[String(soundings.reason[i])] ?? 0) + 1;
    } else if (fault === FAULT.dropout || fault === FAULT['no-echo']) tally(counts.dropout, flagged);
    else if (fault === FAULT.frozen) tally(counts.frozen, flagged);
    if (fault === FAULT.spike || fault === FAULT.burst || fault === FAULT.double) {
      const size = Math.abs(pings.faultSizeM[row]!);
      const bin = spikes.find(({ fromM, toM }) => size >= fromM && size < toM)!;
      bin.injected++;
      if (flagged) bin.flagged++;
      else bin.missed++;
    }
    const offM = Math.hypot(soundings.xM[i]! - pings.xM[row]!, soundings.yM[i]! - pings.yM[row]!);
    if (positionFault === POSITION.jump) {
      tally(counts.jump, flagged);
      if (!flagged && offM > 2) jumpsKeptOff++;
    }
    if (flagged) continue;
    good++;
    atReported[i] = soundings.depthM[i]! - floor.depthM(soundings.xM[i]!, soundings.yM[i]!);
    atTrue[i] = soundings.depthM[i]! - pings.depthM[row]!;
    position[i] = offM;
    if (Math.abs(atReported[i]!) <= soundings.tvuM[i]!) withinReported++;
    if (Math.abs(atTrue[i]!) <= soundings.tvuM[i]!) withinTrue++;
    if (offM <= soundings.thuM[i]!) withinThu++;
    tvuSum += soundings.tvuM[i]!;
    thuSum += soundings.thuM[i]!;
  }
  const share = ([flagged, of]: number[]): Share => shareOf(flagged!, of!);
  return {
    pings: {
      written: truth.logs.reduce((sum, log) => sum + log.pings.n, 0),
      results: n,
      joined: n - joined.strangers,
      strangers: joined.strangers,
      lost: joined.lost,
    },
    good: {
      n: good,
      atReported: errorFigures(atReported),
      atTrue: errorFigures(atTrue),
      position: errorFigures(position),
      tvuAtReported: shareOf(withinReported, good),
      tvuAtTrue: shareOf(withinTrue, good),
      thu: shareOf(withinThu, good),
      tvuMeanM: tvuSum / good,
      thuMeanM: thuSum / good,
    },
    spikes,
    goodFlagged: share(counts.clean),
    goodFlaggedByReason,
    dropoutsFlagged: share(counts.dropout),
    frozenFlagged: share(counts.frozen),
    jumpsFlagged: share(counts.jump),
    jumpsKeptOff,
  };
}

function surfaceFigures(surface: ResultSurface, floor: Floor): NonNullable<ProvingFigures['surface']> {
  const { grid, values } = surface.depth;
  const cells = grid.cols * grid.rows;
  for (const [name, column] of [
    ['depth', values],
    ['uncertaintyM', surface.uncertaintyM],
    ['count', surface.count],
  ] as const) {
    if (column !== undefined && column.length !== cells) throw new RangeError(`surface ${name}: ${column.length} values, expected ${cells} for ${grid.cols} x ${grid.rows} cells`);
  }
  const errors = new Float64Array(cells).fill(NaN);
  const gentle = new Uint8Array(cells);
  for (let row = 0; row < grid.rows; row++) {
    const yM = grid.northM - (row + 0.5) * grid.cellM;
    for (let col = 0; col < grid.cols; col++) {
      const cell = row * grid.cols + col;
      if (Number.isNaN(values[cell]!)) continue;
      const xM = grid.westM + (col + 0.5) * grid.cellM;
      errors[cell] = values[cell]! - floor.depthM(xM, yM);
      gentle[cell] = floor.slopeDeg(xM, yM) < GENTLE_DEG ? 1 : 0;
    }
  }
  const figures = (take: (cell: number) => boolean): SurfaceFigures => {
    const taken = new Float64Array(cells).fill(NaN);
    let within = 0;
    let of = 0;
    for (let cell = 0; cell < cells; cell++) {
      if (Number.isNaN(errors[cell]!) || !take(cell)) continue;
      taken[cell] = errors[cell]!;
      if (surface.uncertaintyM === undefined) continue;
      of++;
      if (Math.abs(errors[cell]!) <= surface.uncertaintyM[cell]!) within++;
    }
    return { ...errorFigures(taken), within: shareOf(within, of) };
  };
  const { count } = surface;
  return {
    all: figures(() => true),
    gentle: figures((cell) => gentle[cell] === 1),
    measured: count === undefined ? null : figures((cell) => count[cell]! > 0),
    filled: count === undefined ? null : figures((cell) => !(count[cell]! > 0)),
    gentleMeasured: count === undefined ? null : figures((cell) => gentle[cell] === 1 && count[cell]! > 0),
    gentleFilled: count === undefined ? null : figures((cell) => gentle[cell] === 1 && !(count[cell]! > 0)),
  };
}
