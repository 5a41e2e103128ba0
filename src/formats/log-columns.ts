import type { FixColumns, LogObservations, PingColumns, SeriesColumns, SeriesName } from '../base/observations.js';

/** A run of rows of one log, in log order. A part is absent where the run has no such rows. The receiver may keep the arrays. */
export interface ObservationChunk {
  readonly fixes?: FixColumns;
  readonly pings?: PingColumns;
  readonly series?: Partial<Record<SeriesName, SeriesColumns>>;
}

type Column = Float64Array | Float32Array | Uint32Array | Uint16Array | Uint8Array | Int32Array;

/** A copy of a column with room for `capacity` rows. */
export function grown<T extends Column>(column: T, capacity: number): T {
  const larger = new (column.constructor as new (length: number) => T)(capacity);
  larger.set(column as never);
  return larger;
}

/** Fix columns that grow by rows. `take` gives exact-length copies and starts afresh. */
export class FixRows {
  n = 0;
  timeS = new Float64Array(64);
  latDeg = new Float64Array(64);
  lonDeg = new Float64Array(64);
  heightM = new Float32Array(64);
  geoidM = new Float32Array(64);
  quality = new Uint8Array(64);
  satellites = new Uint8Array(64);
  hdop = new Float32Array(64);
  sigmaM = new Float32Array(64);
  courseDeg = new Float32Array(64);
  speedMps = new Float32Array(64);
  record = new Uint32Array(64);

  /** Makes room for `rows` more. */
  reserve(rows: number): void {
    const needed = this.n + rows;
    if (needed <= this.timeS.length) return;
    const capacity = Math.max(needed, this.timeS.length * 2);
    this.timeS = grown(this.timeS, capacity);
    this.latDeg = grown(this.latDeg, capacity);
    this.lonDeg = grown(this.lonDeg, capacity);
    this.heightM = grown(this.heightM, capacity);
    this.geoidM = grown(this.geoidM, capacity);
    this.quality = grown(this.quality, capacity);
    this.satellites = grown(this.satellites, capacity);
    this.hdop = grown(this.hdop, capacity);
    this.sigmaM = grown(this.sigmaM, capacity);
    this.courseDeg = grown(this.courseDeg, capacity);
    this.speedMps = grown(this.speedMps, capacity);
    this.record = grown(this.record, capacity);
  }

  /** Adds a row whose other columns are not known: NaN, quality 255, 0 satellites. Gives its index. */
  add(timeS: number, latDeg: number, lonDeg: number, record: number): number {
    this.reserve(1);
    const i = this.n++;
    this.timeS[i] = timeS;
    this.latDeg[i] = latDeg;
    this.lonDeg[i] = lonDeg;
    this.heightM[i] = NaN;
    this.geoidM[i] = NaN;
    this.quality[i] = 255;
    this.satellites[i] = 0;
    this.hdop[i] = NaN;
    this.sigmaM[i] = NaN;
    this.courseDeg[i] = NaN;
    this.speedMps[i] = NaN;
    this.record[i] = record;
    return i;
  }

  append(more: FixColumns): void {
    this.reserve(more.n);
    const at = this.n;
    this.timeS.set(more.timeS, at);
    this.latDeg.set(more.latDeg, at);
    this.lonDeg.set(more.lonDeg, at);
    this.heightM.set(more.heightM, at);
    this.geoidM.set(more.geoidM, at);
    this.quality.set(more.quality, at);
    this.satellites.set(more.satellites, at);
    this.hdop.set(more.hdop, at);
    this.sigmaM.set(more.sigmaM, at);
    this.courseDeg.set(more.courseDeg, at);
    this.speedMps.set(more.speedMps, at);
    this.record.set(more.record, at);
    this.n += more.n;
  }

  take(): FixColumns {
    const n = this.n;
    this.n = 0;
    return {
      n,
      timeS: this.timeS.slice(0, n),
      latDeg: this.latDeg.slice(0, n),
      lonDeg: this.lonDeg.slice(0, n),
      heightM: this.heightM.slice(0, n),
      geoidM: this.geoidM.slice(0, n),
      quality: this.quality.slice(0, n),
      satellites: this.satellites.slice(0, n),
      hdop: this.hdop.slice(0, n),
      sigmaM: this.sigmaM.slice(0, n),
      courseDeg: this.courseDeg.slice(0, n),
      speedMps: this.speedMps.slice(0, n),
      record: this.record.slice(0, n),
    };
  }
}

/** Ping columns that grow by rows. */
export class PingRows {
  n = 0;
  timeS = new Float64Array(64);
  depthM = new Float32Array(64);
  offsetM = new Float32Array(64);
  from = new Uint8Array(64);
  record = new Uint32Array(64);

  reserve(rows: number): void {
    const needed = this.n + rows;
    if (needed <= this.timeS.length) return;
    const capacity = Math.max(needed, this.timeS.length * 2);
    this.timeS = grown(this.timeS, capacity);
    this.depthM = grown(this.depthM, capacity);
    this.offsetM = grown(this.offsetM, capacity);
    this.from = grown(this.from, capacity);
    this.record = grown(this.record, capacity);
  }

  add(timeS: number, depthM: number, offsetM: number, from: number, record: number): void {
    this.reserve(1);
    const i = this.n++;
    this.timeS[i] = timeS;
    this.depthM[i] = depthM;
    this.offsetM[i] = offsetM;
    this.from[i] = from;
    this.record[i] = record;
  }

  append(more: PingColumns): void {
    this.reserve(more.n);
    const at = this.n;
    this.timeS.set(more.timeS, at);
    this.depthM.set(more.depthM, at);
    this.offsetM.set(more.offsetM, at);
    this.from.set(more.from, at);
    this.record.set(more.record, at);
    this.n += more.n;
  }

  take(): PingColumns {
    const n = this.n;
    this.n = 0;
    return {
      n,
      timeS: this.timeS.slice(0, n),
      depthM: this.depthM.slice(0, n),
      offsetM: this.offsetM.slice(0, n),
      from: this.from.slice(0, n),
      record: this.record.slice(0, n),
    };
  }
}

/** Columns of one series that grow by rows. */
export class SeriesRows {
  n = 0;
  timeS = new Float64Array(64);
  value = new Float64Array(64);
  record = new Uint32Array(64);

  reserve(rows: number): void {
    const needed = this.n + rows;
    if (needed <= this.timeS.length) return;
    const capacity = Math.max(needed, this.timeS.length * 2);
    this.timeS = grown(this.timeS, capacity);
    this.value = grown(this.value, capacity);
    this.record = grown(this.record, capacity);
  }

  add(timeS: number, value: number, record: number): void {
    this.reserve(1);
    const i = this.n++;
    this.timeS[i] = timeS;
    this.value[i] = value;
    this.record[i] = record;
  }

  append(more: SeriesColumns): void {
    this.reserve(more.n);
    this.timeS.set(more.timeS, this.n);
    this.value.set(more.value, this.n);
    this.record.set(more.record, this.n);
    this.n += more.n;
  }

  take(): SeriesColumns {
    const n = this.n;
    this.n = 0;
    return { n, timeS: this.timeS.slice(0, n), value: this.value.slice(0, n), record: this.record.slice(0, n) };
  }
}

/** Rows of all kinds on their way to a chunk. */
export class ObservationRows {
  readonly fixes = new FixRows();
  readonly pings = new PingRows();
  private readonly bySeries = new Map<SeriesName, SeriesRows>();

  series(name: SeriesName): SeriesRows {
    let rows = this.bySeries.get(name);
    if (rows === undefined) {
      rows = new SeriesRows();
      this.bySeries.set(name, rows);
    }
    return rows;
  }

  get rows(): number {
    let rows = this.fixes.n + this.pings.n;
    for (const series of this.bySeries.values()) rows += series.n;
    return rows;
  }

  append(chunk: ObservationChunk): void {
    if (chunk.fixes) this.fixes.append(chunk.fixes);
    if (chunk.pings) this.pings.append(chunk.pings);
    for (const [name, columns] of Object.entries(chunk.series ?? {})) this.series(name as SeriesName).append(columns);
  }

  /** Everything so far as one chunk; null where there is nothing. */
  takeChunk(): ObservationChunk | null {
    if (this.rows === 0) return null;
    const chunk: { fixes?: FixColumns; pings?: PingColumns; series?: Partial<Record<SeriesName, SeriesColumns>> } = {};
    if (this.fixes.n > 0) chunk.fixes = this.fixes.take();
    if (this.pings.n > 0) chunk.pings = this.pings.take();
    const series = this.takeSeries();
    if (Object.keys(series).length > 0) chunk.series = series;
    return chunk;
  }

  takeObservations(): LogObservations {
    return { fixes: this.fixes.take(), pings: this.pings.take(), series: this.takeSeries() };
  }

  private takeSeries(): Partial<Record<SeriesName, SeriesColumns>> {
    const series: Partial<Record<SeriesName, SeriesColumns>> = {};
    for (const name of [...this.bySeries.keys()].sort()) {
      const rows = this.bySeries.get(name) as SeriesRows;
      if (rows.n > 0) series[name] = rows.take();
    }
    return series;
  }
}
