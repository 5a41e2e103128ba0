import { unzlibSync } from 'fflate';
import { File as Hdf5File, Module, ready, type Dataset, type Entity } from 'h5wasm';
import type { ByteSink } from '../base/byte-source.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { formatUtc } from '../base/time.js';
import { toNanoseconds1601 } from './netcdf-time.js';
import { SONAR_NETCDF_TEMPLATE } from './sonar-netcdf-template.js';
import type { SonarContent } from './sonar-summary.js';

/** How to write a SONAR-netCDF4 file. */
export interface SonarNetcdfWriteOptions {
  /** When it was made, UTC seconds; the last ping's time unless given. */
  readonly createdS?: number;
  readonly title?: string;
  readonly platform?: string;
  /** Sound speed that ranges were reckoned with [m/s]; 1500 unless given. */
  readonly soundSpeedMps?: number;
  /** Width of the beam along the track and down from it, one way, half power [deg]; NaN where it is not known. */
  readonly beamDeg?: readonly [along: number, across: number];
  /** Another place to make the file in than memory. */
  readonly scratch?: () => Promise<Hdf5Scratch>;
  readonly context?: WorkContext;
}

const GROUP = 'Sonar/Beam_group1';
const STRETCH_SAMPLES = 1 << 20;
/** The library keeps the file in memory, which ends near 2 GB; samples are 4 bytes each. */
const SAMPLES_IN_MEMORY = 380_000_000;
const SINK_PIECE = 4 << 20;
let made = 0;

/** Where a file is made before its bytes are handed on. */
export interface Hdf5Scratch {
  /** The library that it is made with. */
  readonly module: typeof Module;
  /** Whether the file is in the library's memory while it is made. */
  readonly inMemory: boolean;
  /** Opens a new file of these bytes for writing. */
  open(bytes: Uint8Array): Hdf5File;
  /** The file once it is closed, in pieces of at most `pieceBytes`. */
  pieces(pieceBytes: number): AsyncIterable<Uint8Array>;
  remove(): Promise<void>;
}

/** Makes the file in memory: up to SAMPLES_IN_MEMORY. */
async function memoryScratch(): Promise<Hdf5Scratch> {
  await ready;
  const name = `sonar-out-${(made += 1)}.nc`;
  return {
    module: Module,
    inMemory: true,
    open(bytes) {
      Module.FS.writeFile(name, bytes);
      return new Hdf5File(name, 'a');
    },
    async *pieces(pieceBytes) {
      const bytes = Module.FS.readFile(name) as Uint8Array;
      for (let at = 0; at < bytes.length; at += pieceBytes) yield bytes.subarray(at, at + pieceBytes);
    },
    remove: () => Promise.resolve(Module.FS.unlink(name) as void),
  };
}

/**
 * Writes side-scan pings as SONAR-netCDF4 1.0: one beam group with two beams, `port` and `starboard`, a list of samples for each; a side
 * that a ping lacks is an empty list. The sonar's depth is its offset at rest and the vertical offset of each ping; its height above the
 * floor, for which the convention has no variable, is in the group Vendor_specific.
 *
 * What is not known stays at its fill value. Samples are asked for by stretch; the file as it grows is held in memory, unless the
 * options give it another place. Equal input gives equal bytes.
 *
 * @throws RangeError where there is no ping, or more samples than the library's memory holds (write SEG-Y then)
 * Source: ICES SONAR-netCDF4 1.0.
 */
export async function writeSonarNetcdf(sink: ByteSink, content: SonarContent, options: SonarNetcdfWriteOptions = {}): Promise<void> {
  const { heads } = content;
  if (heads.n === 0) throw new RangeError('pings: expected one at least, found none');
  let samples = 0;
  for (let i = 0; i < heads.n; i++) samples += (heads.portSamples[i] as number) + (heads.starboardSamples[i] as number);
  const scratch = await (options.scratch ?? memoryScratch)();
  try {
    if (scratch.inMemory && samples > SAMPLES_IN_MEMORY) throw new RangeError(`${samples} samples: SONAR-netCDF4 is written by way of memory, which holds ${SAMPLES_IN_MEMORY}; write SEG-Y, or fewer pings to a file`);
    const file = scratch.open(unzlibSync(Uint8Array.from(atob(SONAR_NETCDF_TEMPLATE), (letter) => letter.charCodeAt(0))));
    try {
      writeHeads(scratch.module, file, content, options);
      await writeSamples(scratch.module, file, content, options.context ?? {});
    } finally {
      file.close();
    }
    for await (const piece of scratch.pieces(SINK_PIECE)) await sink.write(piece);
  } finally {
    await scratch.remove();
  }
}

function at(file: Hdf5File, place: string): Dataset {
  const found = file.get(place);
  if (found === null) throw new Error(`${place}: missing from the SONAR-netCDF4 template`);
  return found as Dataset;
}

/** Values along unlimited dimensions, by ping or by ping and beam. */
function put(file: Hdf5File, place: string, shape: readonly number[], values: BigUint64Array | Float64Array | Float32Array | Int16Array): void {
  const dataset = at(file, place);
  dataset.resize([...shape]);
  dataset.write_slice(shape.map((n) => [0, n] as [number, number]), values as Float32Array);
}

function one(module: typeof Module, file: Hdf5File, place: string, value: number): void {
  const dataset = at(file, place);
  withBytes(module, new Uint8Array(Float32Array.of(value).buffer), (held) => module.set_dataset_data(file.file_id, dataset.path, null, null, null, held));
}

/** Zeros in a variable of one byte each, by ping. */
function zeros(module: typeof Module, file: Hdf5File, place: string, n: number): void {
  const dataset = at(file, place);
  dataset.resize([n]);
  withBytes(module, new Uint8Array(n), (held) => module.set_dataset_data(file.file_id, dataset.path, [BigInt(n)], [0n], [1n], held));
}

/** Bytes in the library's own memory for the length of one call. */
function withBytes(module: typeof Module, bytes: Uint8Array, work: (held: bigint) => void): void {
  const held = module._malloc(bytes.length);
  try {
    module.HEAPU8.set(bytes, held);
    work(BigInt(held));
  } finally {
    module._free(held);
  }
}

function writeHeads(module: typeof Module, file: Hdf5File, { heads }: SonarContent, options: SonarNetcdfWriteOptions): void {
  const { n } = heads;
  const times = BigUint64Array.from(heads.timeS, toNanoseconds1601);
  let last = NaN;
  for (const time of heads.timeS) if (!Number.isNaN(time) && !(time <= last)) last = time;
  const { createdS = last, title = 'Side-scan sonar pings', platform = '', soundSpeedMps = 1500, beamDeg = [NaN, NaN] } = options;
  const root = file.get('/') as Entity & { create_attribute(name: string, value: string): void };
  root.create_attribute('date_created', Number.isFinite(createdS) ? formatUtc(createdS) : '1970-01-01T00:00:00Z');
  root.create_attribute('title', title);
  if (platform !== '') {
    const group = file.get('Platform') as unknown as { create_attribute(name: string, value: string): void; delete_attribute(name: string): void };
    group.delete_attribute('platform_name');
    group.create_attribute('platform_name', platform);
  }
  (file.get('ping_time') as Dataset).resize([n]);
  put(file, `${GROUP}/ping_time`, [n], times);
  for (const time of ['time1', 'time2']) put(file, `Platform/${time}`, [n], times);
  put(file, 'Platform/latitude', [n], heads.latDeg);
  put(file, 'Platform/longitude', [n], heads.lonDeg);
  put(file, 'Platform/heading', [n], heads.headingDeg);
  const depths = heads.depthM.filter((depth) => !Number.isNaN(depth)).sort();
  const restM = depths[depths.length >> 1] ?? NaN;
  put(file, 'Platform/vertical_offset', [n], heads.depthM.map((depth) => restM - depth));
  one(module, file, 'Platform/transducer_offset_z', restM);
  one(module, file, 'Platform/water_level', 0);
  put(file, 'Vendor_specific/height_above_floor', [n], heads.heightM);
  const frequencies = [...new Set(heads.frequencyHz)].filter((hz) => !Number.isNaN(hz)).sort((a, b) => a - b);
  if (frequencies.length > 0) {
    put(file, 'Environment/frequency', [frequencies.length], Float32Array.from(frequencies));
    (file.get('Environment/absorption_indicative') as Dataset).resize([frequencies.length]);
  }
  one(module, file, 'Environment/sound_speed_indicative', soundSpeedMps);
  put(file, `${GROUP}/sample_interval`, [n], Float32Array.from(heads.intervalS));
  put(file, `${GROUP}/sample_time_offset`, [n], Float32Array.from(heads.delayS, (delay) => 0 - delay));
  const both = (value: (i: number, beam: number) => number): Float32Array => Float32Array.from({ length: 2 * n }, (_, k) => value(k >> 1, k & 1));
  for (const end of ['start', 'stop']) put(file, `${GROUP}/transmit_frequency_${end}`, [n, 2], both((i) => heads.frequencyHz[i] as number));
  for (const way of ['transmit', 'receive']) for (const [axis, width] of [['major', beamDeg[0]], ['minor', beamDeg[1]]] as const) put(file, `${GROUP}/beamwidth_${way}_${axis}`, [n, 2], both(() => width));
  // Straight out to the side: how far down the beams point is not known.
  for (const [axis, value] of [['x', () => 0], ['y', (_: number, beam: number) => (beam === 0 ? -1 : 1)], ['z', () => 0]] as const) put(file, `${GROUP}/beam_direction_${axis}`, [n, 2], both(value));
  // Continuous wave, a single beam, not stabilised: the first of each enumeration, written out so that no reader takes it for missing.
  for (const name of ['transmit_type', 'beam_type', 'beam_stabilisation']) zeros(module, file, `${GROUP}/${name}`, n);
  at(file, `${GROUP}/transmit_duration_nominal`).resize([n]);
  put(file, `${GROUP}/non_quantitative_processing`, [n], new Int16Array(n));
  at(file, `${GROUP}/equivalent_beam_angle`).resize([n, 2]);
  at(file, `${GROUP}/backscatter_r`).resize([n, 2]);
}

async function writeSamples(module: typeof Module, file: Hdf5File, content: SonarContent, context: WorkContext): Promise<void> {
  const { heads } = content;
  const { path } = at(file, `${GROUP}/backscatter_r`);
  for (let start = 0; start < heads.n; ) {
    throwIfCancelled(context.signal);
    let [end, total] = [start, 0];
    while (end < heads.n && (end === start || total < STRETCH_SAMPLES)) {
      total += (heads.portSamples[end] as number) + (heads.starboardSamples[end] as number);
      end++;
    }
    const stretch = await content.read(start, end, context.signal);
    const lists = module._malloc(16 * (end - start));
    const values = module._malloc(Math.max(4, 4 * total));
    if (lists === 0 || values === 0) throw new RangeError('the library\'s memory is used up: write SEG-Y, or fewer pings to a file');
    try {
      const pairs = new Uint32Array(4 * (end - start));
      let place = values;
      for (let i = start; i < end; i++) {
        for (const [beam, side, n] of [[0, stretch.port, heads.portSamples[i] as number], [1, stretch.starboard, heads.starboardSamples[i] as number]] as const) {
          pairs[4 * (i - start) + 2 * beam] = n;
          pairs[4 * (i - start) + 2 * beam + 1] = n === 0 ? 0 : place;
          const from = (i - start) * stretch.width;
          module.HEAPU8.set(new Uint8Array(side.buffer, side.byteOffset + 4 * from, 4 * n), place);
          place += 4 * n;
        }
      }
      module.HEAPU8.set(new Uint8Array(pairs.buffer), lists);
      module.set_dataset_data(file.file_id, path, [BigInt(end - start), 2n], [BigInt(start), 0n], [1n, 1n], BigInt(lists));
    } finally {
      module._free(values);
      module._free(lists);
    }
    context.progress?.('writing', end / heads.n);
    start = end;
  }
}
