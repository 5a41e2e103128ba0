import { File as Hdf5File, Module, ready, type Dataset } from 'h5wasm';
import type { ByteSource } from '../base/byte-source.js';
import { CancelledError, FormatError, isExpectedError, UnsupportedError } from '../base/errors.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import type { SonarHeads, SonarSamples } from '../base/sonar.js';
import { netcdfTimes } from './netcdf-time.js';
import { isHdf5 } from './file-magic.js';
import { statedHdf5Bytes } from './hdf5-object.js';
import { datasetAt, findBeams, numbersOf, textAttribute, valuesOf, type FoundBeam } from './sonar-netcdf-beams.js';
import { SonarNetcdfSamples, type SideData } from './sonar-netcdf-samples.js';
import { emptyHeads, emptyStretch, PINGS_MAX, SAMPLES_MAX, SonarTally, summariseSonar, type OpenSonar } from './sonar-summary.js';

/** An HDF5 file opened by whoever can read it where it lies, with the library's module that it belongs to. */
export interface OpenHdf5 {
  readonly file: Hdf5File;
  readonly module: typeof Module;
  close(): void;
}

/** How to read a SONAR-netCDF4 file beyond what it says itself. */
export interface SonarNetcdfOptions {
  /** Time between samples [us], where the file's own is not to be trusted. */
  readonly sampleIntervalUs?: number | null;
  /** Opens the file where it lies, or a copy of it filled up with zeros to a length; left out: it is copied into memory, up to MEMORY_MAX. */
  readonly open?: (filledTo: number | null) => Promise<OpenHdf5>;
  readonly context?: WorkContext;
}

/** A file that is read by way of memory may be so large [bytes]. */
const MEMORY_MAX = 1 << 30;
let copies = 0;

/**
 * Opens a SONAR-netCDF4 file as a side-scan log: the beam that looks to port and the one that looks to starboard, of one beam group or
 * of one each. Positions, headings and heave are those of /Platform at each ping's time; the depth of the sonar is its offset less the
 * water level; the height above the floor is taken from where our writer puts it. Where there is an imaginary part, the amplitude is the
 * modulus; decibels are turned into amplitudes.
 *
 * @throws FormatError where it is no such file, holds no beam group, or is damaged; UnsupportedError where it is too large for memory
 * Source: ICES SONAR-netCDF4 1.0.
 */
export async function openSonarNetcdf(source: ByteSource, options: SonarNetcdfOptions = {}): Promise<OpenSonar> {
  const { context = {} } = options;
  const head = await source.read(0, 64, context.signal);
  if (!isHdf5(head)) throw new FormatError('not-hdf5', source.name, `${source.name}: expected a SONAR-netCDF4 file, which begins as HDF5 does; found something else`);
  const stated = statedHdf5Bytes(head);
  const isCut = stated > source.byteLength;
  if (isCut && stated > CUT_MOST * source.byteLength) throw cutShort(source, stated);
  const tally = new SonarTally();
  // The library opens no file that is shorter than it says; filled up with zeros, what was written before the cut is there.
  if (isCut) tally.reject('cut-short', `the file ends after ${source.byteLength} of ${stated} bytes: what lies before is read`, 1);
  let opened: OpenHdf5;
  try {
    opened = await (options.open ?? ((filledTo) => copyIntoMemory(source, filledTo, context)))(isCut ? stated : null);
  } catch (error) {
    throw isCut && !isExpectedError(error) ? cutShort(source, stated) : damaged(source.name, error);
  }
  try {
    const sonar = await readHeads(source, opened, tally, options, context);
    return { ...sonar, close: () => Promise.resolve(opened.close()) };
  } catch (error) {
    opened.close();
    throw isCut && !isCancelled(error) ? cutShort(source, stated) : damaged(source.name, error);
  }
}

/** A file cut shorter than one part in so many holds nothing of use. */
const CUT_MOST = 16;

function isCancelled(error: unknown): boolean {
  return error instanceof CancelledError;
}

function cutShort(source: ByteSource, stated: number): FormatError {
  return new FormatError('truncated', source.name, `${source.name}: the file ends after ${source.byteLength} of ${stated} bytes, and of what is missing something is needed to find the rest: nothing of it can be read; copy it again from the sonar, or ask it for SEG-Y, which can be read as far as it goes`, { expected: String(stated), found: String(source.byteLength) });
}

function damaged(name: string, error: unknown): unknown {
  if (isExpectedError(error)) return error;
  return new FormatError('damaged', name, `${name}: the HDF5 file is damaged and cannot be read (${whatHdf5Says((error as Error).message)}); copy it again from the sonar`);
}

/** The innermost reason of the library's report, without its places in the library; any other message to its first line end. */
function whatHdf5Says(message: string): string {
  const reasons = [...message.matchAll(/^\s*#\d+: .* in \w+\(\): (.*)$/gm)].map(([, reason]) => reason as string);
  return (reasons.at(-1) ?? (message.split('\n')[0] as string)).slice(0, 120);
}

async function copyIntoMemory(source: ByteSource, filledTo: number | null, context: WorkContext): Promise<OpenHdf5> {
  if ((filledTo ?? source.byteLength) > MEMORY_MAX) throw new UnsupportedError(`${source.name}: ${(source.byteLength / 1e9).toFixed(1)} GB is more than can be read by way of memory; split the file`);
  await ready;
  Module.activate_throwing_error_handler();
  const name = `sonar-${(copies += 1)}.nc`;
  Module.FS.writeFile(name, await source.read(0, source.byteLength, context.signal));
  if (filledTo !== null) Module.FS.truncate(name, filledTo);
  try {
    const file = new Hdf5File(name, 'r');
    return {
      file,
      module: Module,
      close: () => {
        file.close();
        Module.FS.unlink(name);
      },
    };
  } catch (error) {
    Module.FS.unlink(name);
    throw error;
  }
}

async function readHeads(source: ByteSource, opened: OpenHdf5, tally: SonarTally, options: SonarNetcdfOptions, context: WorkContext): Promise<Omit<OpenSonar, 'close'>> {
  const { name } = source;
  const { file, module } = opened;
  const [port, starboard] = chooseBeams(name, file, module, tally);
  const times = [port, starboard].map((side) => (side === null ? null : timesOf(name, file, side.beam.group, side.pings)));
  const rows = joinRows(port === null ? null : (times[0] as Float64Array), starboard === null ? null : (times[1] as Float64Array), port?.beam.group === starboard?.beam.group);
  if (rows.n === 0) throw new FormatError('no-records', name, `${name}: a SONAR-netCDF4 file without a single ping; was the sonar running?`);
  const heads = emptyHeads(rows.n);
  const samples = new SonarNetcdfSamples(source, opened);
  for (const [side, lengths, row] of [[port, heads.portSamples, rows.port], [starboard, heads.starboardSamples, rows.starboard]] as const) {
    if (side === null) continue;
    const found = await samples.lengths(side, tally, context);
    for (let i = 0; i < rows.n; i++) {
      if ((row[i] as number) < 0) continue;
      const length = found[row[i] as number] as number;
      if (length > SAMPLES_MAX) tally.reject('too-long', `a ping claims more samples than any sonar makes (${SAMPLES_MAX}): its samples are left out`, i + 1);
      else lengths[i] = length;
    }
  }
  heads.timeS.set(rows.timeS);
  fillHeads(file, heads, port ?? (starboard as SideData), port === null ? rows.starboard : rows.port, options);
  const counts: Record<string, number> = {};
  if (port !== null) counts[`beam ${port.beam.name}`] = port.pings;
  if (starboard !== null) counts[`beam ${starboard.beam.name}`] = starboard.pings;
  const summary = summariseSonar('sonar-netcdf', heads, counts, rows.n, tally);
  return {
    heads,
    summary,
    async read(start, end, signal): Promise<SonarSamples> {
      throwIfCancelled(signal);
      const stretch = emptyStretch(heads, start, end);
      try {
        await samples.read([...(port === null ? [] : [{ side: port, rows: rows.port, samples: heads.portSamples, out: stretch.port }]), ...(starboard === null ? [] : [{ side: starboard, rows: rows.starboard, samples: heads.starboardSamples, out: stretch.starboard }])], start, end, stretch.width, signal);
      } catch (error) {
        throw damaged(name, error);
      }
      return stretch;
    },
  };
}

function chooseBeams(name: string, file: Hdf5File, module: typeof Module, tally: SonarTally): [SideData | null, SideData | null] {
  const beams = findBeams(file);
  if (beams.length === 0) throw new FormatError('no-beams', name, `${name}: expected beam groups with backscatter in the group Sonar (SONAR-netCDF4), found none; it is an HDF5 file of another kind`);
  let port = beams.find(({ side }) => side === 'port') ?? null;
  let starboard = beams.find(({ side, group }) => side === 'starboard' && group === port?.group) ?? beams.find(({ side }) => side === 'starboard') ?? null;
  if (port === null && starboard === null) {
    [port, starboard] = [beams[0] as FoundBeam, beams[1] ?? null];
    tally.note(beams.length === 1 ? 'one beam only, and no word of the side it looks to: held as port; if it looks to starboard, say so as a setting (sonar.swapSides)' : `the beams do not say which side they look to: the first is taken as port; swap them as a setting (sonar.swapSides) if that is wrong`);
  }
  const others = beams.length - (port === null ? 0 : 1) - (starboard === null ? 0 : 1);
  if (others > 0) tally.note(`${others} other ${others === 1 ? 'beam is' : 'beams are'} kept in the raw log but not shown`);
  return [port === null ? null : sideData(name, file, module, port), starboard === null ? null : sideData(name, file, module, starboard)];
}

function sideData(name: string, file: Hdf5File, module: typeof Module, beam: FoundBeam): SideData {
  const real = datasetAt(file, `${beam.group}/backscatter_r`) as Dataset;
  const { shape } = real;
  const lists = real.metadata.type === module.H5T_class_t.H5T_VLEN.value;
  if (shape === null || (lists ? shape.length < 1 || shape.length > 2 : shape.length !== 3)) throw new UnsupportedError(`${name}: backscatter_r of ${beam.group} has ${shape?.length ?? 0} dimensions; expected lists of samples by ping and beam, or numbers by ping, beam and sample`);
  const pings = shape[0] as number;
  if (pings > PINGS_MAX) throw new FormatError('too-many', name, `${name}: claims ${pings} pings; expected at most ${PINGS_MAX}; the file is damaged, copy it again from the sonar`);
  return { beam, pings, real, imaginary: datasetAt(file, `${beam.group}/backscatter_i`), lists, decibels: /^\s*dB/.test(textAttribute(real, 'units')) };
}

function timesOf(name: string, file: Hdf5File, group: string, pings: number): Float64Array {
  const dataset = datasetAt(file, `${group}/ping_time`) ?? datasetAt(file, 'ping_time');
  const value = dataset === null ? null : valuesOf(dataset);
  const times = ArrayBuffer.isView(value) ? netcdfTimes(textAttribute(dataset, 'units'), value as unknown as ArrayLike<number | bigint>) : null;
  if (times === null) throw new FormatError('no-times', name, `${name}: expected ping_time in ${group} with units such as "nanoseconds since 1601-01-01 00:00:00Z", found ${dataset === null ? 'no such variable' : `the units ${JSON.stringify(textAttribute(dataset, 'units'))}`}; write them into a copy of the file, or ask the sonar for another format`);
  if (times.length === pings) return times;
  const padded = new Float64Array(pings).fill(NaN);
  padded.set(times.subarray(0, pings));
  return padded;
}

/** Rows of the two sides by ping: the same where they are of one group, else joined where their times agree to a millisecond. */
function joinRows(port: Float64Array | null, starboard: Float64Array | null, same: boolean): { readonly n: number; readonly timeS: Float64Array; readonly port: Int32Array; readonly starboard: Int32Array } {
  if (port === null || starboard === null || same) {
    const timeS = port ?? (starboard as Float64Array);
    const rows = Int32Array.from({ length: timeS.length }, (_, i) => i);
    const none = new Int32Array(rows.length).fill(-1);
    return { n: rows.length, timeS, port: port === null ? none : rows, starboard: starboard === null ? none : rows };
  }
  const [a, b, times]: [number[], number[], number[]] = [[], [], []];
  let [i, k] = [0, 0];
  while (i < port.length || k < starboard.length) {
    const [left, right] = [port[i] ?? Infinity, starboard[k] ?? Infinity];
    const together = i < port.length && k < starboard.length && !(Math.abs(left - right) > 1e-3);
    const takePort = together || (i < port.length && !(left > right));
    a.push(takePort ? i : -1);
    b.push(together || !takePort ? k : -1);
    times.push(takePort ? left : right);
    if (takePort) i++;
    if (together || !takePort) k++;
  }
  return { n: a.length, timeS: Float64Array.from(times), port: Int32Array.from(a), starboard: Int32Array.from(b) };
}

/** Values of one series at the times of another, by straight line; NaN outside it. A circle of 360 degrees where `circular`. */
function valuesAt(timeS: Float64Array, value: Float64Array, atS: Float64Array, circular: boolean): Float64Array {
  const rows = [...timeS.keys()].filter((i) => !Number.isNaN(timeS[i] as number) && !Number.isNaN(value[i] ?? NaN)).sort((a, b) => (timeS[a] as number) - (timeS[b] as number));
  const out = new Float64Array(atS.length).fill(NaN);
  for (let i = 0; i < atS.length; i++) {
    const at = atS[i] as number;
    let [low, high] = [0, rows.length - 1];
    if (rows.length === 0 || !(at >= (timeS[rows[0] as number] as number) - 1e-6) || !(at <= (timeS[rows[high] as number] as number) + 1e-6)) continue;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if ((timeS[rows[middle] as number] as number) <= at) low = middle;
      else high = middle;
    }
    const [a, b] = [rows[low] as number, rows[high] as number];
    const span = (timeS[b] as number) - (timeS[a] as number);
    const share = span > 0 ? Math.min(1, Math.max(0, (at - (timeS[a] as number)) / span)) : 0;
    let step = (value[b] as number) - (value[a] as number);
    if (circular) step = ((((step + 180) % 360) + 360) % 360) - 180;
    const result = (value[a] as number) + share * step;
    out[i] = circular ? ((result % 360) + 360) % 360 : result;
  }
  return out;
}

function fillHeads(file: Hdf5File, heads: SonarHeads, side: SideData, rows: Int32Array, options: SonarNetcdfOptions): void {
  const { group } = side.beam;
  const { n } = heads;
  const beams = (side.real.shape ?? [])[1] ?? 1;
  /** A variable by ping, or by ping and beam, or one for all. */
  const byPing = (path: string): ((i: number) => number) => {
    const values = numbersOf(datasetAt(file, path));
    if (values === null || values.length === 0) return () => NaN;
    if (values.length === 1) return () => values[0] as number;
    const each = values.length >= side.pings * beams && beams > 1 ? beams : 1;
    return (row) => values[row * each + (each > 1 ? side.beam.index : 0)] ?? NaN;
  };
  const interval = byPing(`${group}/sample_interval`);
  const offset = byPing(`${group}/sample_time_offset`);
  const frequency = byPing(`${group}/transmit_frequency_start`);
  const height = byPing('Vendor_specific/height_above_floor');
  const { sampleIntervalUs = null } = options;
  for (let i = 0; i < n; i++) {
    const row = rows[i] as number;
    // A ping of the other side alone: what is common to both is that of its neighbour.
    const near = row >= 0 ? row : Math.max(0, ...[rows[i - 1] ?? -1, rows[i + 1] ?? -1]);
    const every = sampleIntervalUs === null ? interval(near) : sampleIntervalUs / 1e6;
    heads.intervalS[i] = every > 0 ? every : NaN;
    const later = offset(near);
    heads.delayS[i] = Number.isNaN(later) ? 0 : 0 - later;
    heads.frequencyHz[i] = frequency(near);
    heads.heightM[i] = height(near);
  }
  const platform = (name: string): { readonly timeS: Float64Array; readonly value: Float64Array } | null => {
    const dataset = datasetAt(file, `Platform/${name}`);
    const value = numbersOf(dataset);
    if (dataset === null || value === null) return null;
    // Which time variable it goes with is the name of its dimension; here: the one that is as long, in order of their numbers.
    for (const time of name === 'latitude' || name === 'longitude' ? ['time1', 'time2', 'time3'] : ['time2', 'time1', 'time3']) {
      const stamps = datasetAt(file, `Platform/${time}`);
      const values = stamps === null ? null : valuesOf(stamps);
      if (!ArrayBuffer.isView(values) || (values as unknown as Float64Array).length !== value.length) continue;
      const seconds = netcdfTimes(textAttribute(stamps, 'units'), values as unknown as ArrayLike<number | bigint>);
      if (seconds !== null) return { timeS: seconds, value };
    }
    return null;
  };
  const at = (name: string, circular: boolean): Float64Array | null => {
    const series = platform(name);
    return series === null ? null : valuesAt(series.timeS, series.value, heads.timeS, circular);
  };
  const [lat, lon, heading, heave] = [at('latitude', false), at('longitude', true), at('heading', true), at('vertical_offset', false)];
  const scalar = (name: string): number => numbersOf(datasetAt(file, `Platform/${name}`))?.[0] ?? NaN;
  const below = scalar('transducer_offset_z') - scalar('water_level');
  for (let i = 0; i < n; i++) {
    const [la, lo] = [lat?.[i] ?? NaN, lon?.[i] ?? NaN];
    if (Math.abs(la) <= 90 && !Number.isNaN(lo)) {
      heads.latDeg[i] = la;
      heads.lonDeg[i] = lo > 180 ? lo - 360 : lo;
    }
    heads.headingDeg[i] = heading?.[i] ?? NaN;
    heads.depthM[i] = below - (heave === null ? 0 : (heave[i] as number));
  }
}
