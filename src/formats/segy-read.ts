import type { ByteSource } from '../base/byte-source.js';
import { UnsupportedError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import type { SonarHeads, SonarSamples } from '../base/sonar.js';
import { readSegyFileHead } from './segy-file-head.js';
import { findTraces, type FoundTrace } from './segy-index.js';
import { FILE_HEAD_BYTES, FORMATS } from './segy-layout.js';
import { decodeSamples } from './segy-samples.js';
import type { SegyFields } from './segy-trace-head.js';
import { spreadSeconds } from './spread-seconds.js';
import { emptyHeads, emptyStretch, PINGS_MAX, SonarTally, summariseSonar, type OpenSonar } from './sonar-summary.js';

/** How to read a SEG-Y file beyond what it says itself. */
export interface SegyOptions extends SegyFields {
  /** Which channel number is which side; null on a side: none. Left out: the lowest is port, the next starboard. */
  readonly channels?: { readonly port: number | null; readonly starboard: number | null } | null;
  /** Time between samples [us], where the file's own is not to be trusted. */
  readonly sampleIntervalUs?: number | null;
  readonly context?: WorkContext;
}

const PIECE_BYTES = 16 << 20;
/** GPS time less UTC [s] from a UTC second on. Source: IERS Bulletin C, leap seconds since 2006. */
const LEAP: readonly (readonly [number, number])[] = [[1_483_228_800, 18], [1_435_708_800, 17], [1_341_100_800, 16], [1_230_768_000, 15], [1_136_073_600, 14], [-Infinity, 13]];
const LOCAL_TIME = 1;
const GPS_TIME = 5;

/** Traces as columns while they are found. */
class TraceColumns {
  n = 0;
  #room = 4096;
  numbers = new Float64Array(this.#room * WIDTH);
  flags = new Uint8Array(this.#room);

  add(trace: FoundTrace): void {
    if (this.n === this.#room) {
      this.#room *= 2;
      const [numbers, flags] = [new Float64Array(this.#room * WIDTH), new Uint8Array(this.#room)];
      numbers.set(this.numbers);
      flags.set(this.flags);
      [this.numbers, this.flags] = [numbers, flags];
    }
    this.numbers.set([trace.dataAt, trace.samples, trace.fieldRecord, trace.traceNumber, trace.timeS, trace.intervalUs, trace.delayS, trace.latDeg, trace.lonDeg, trace.headingDeg, trace.heightM, trace.depthM, trace.frequencyHz, trace.scale], this.n * WIDTH);
    this.flags[this.n] = (trace.fine ? 1 : 0) | (trace.gridded ? 2 : 0) | (trace.timeBasis === LOCAL_TIME ? 4 : 0) | (trace.timeBasis === GPS_TIME ? 8 : 0);
    this.n++;
  }

  get(trace: number, column: number): number {
    return this.numbers[trace * WIDTH + column] as number;
  }
}
const [DATA_AT, SAMPLES, FIELD_RECORD, CHANNEL, TIME, INTERVAL, DELAY, LAT, LON, HEADING, HEIGHT, DEPTH, FREQUENCY, SCALE, WIDTH] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14];

/**
 * Opens a SEG-Y file, revision 0, 1 or 2, as a side-scan log: a trace is one side of one ping.
 *
 * Traces of a ping share their field record number (bytes 9 to 12), or follow one another by channel number (bytes 13 to 16). The lowest
 * channel is port, the next starboard, unless the options say otherwise; a file of one channel alone is held as port. Times to the
 * second only are spread evenly within each second. Positions in a grid of metres are left out: the format does not name the grid.
 * Damage is counted and stepped over; samples of the trace that a file cuts short are kept as far as they go.
 *
 * @returns heads of all pings, samples on demand. Integers are multiplied by the trace's own weighting (revision 1 on), nothing else.
 * @throws FormatError where it is no SEG-Y file or holds no trace, UnsupportedError for kinds of samples that are not read
 * Source: SEG Technical Standards Committee, SEG-Y revision 1 (2002) and revision 2.0 (2017).
 */
export async function openSegySonar(source: ByteSource, options: SegyOptions = {}): Promise<OpenSonar> {
  const context = options.context ?? {};
  const tally = new SonarTally();
  const file = readSegyFileHead(source.name, await source.read(0, FILE_HEAD_BYTES, context.signal), source.byteLength);
  for (const note of file.notes) tally.note(note);
  if (file.little && file.revision < 2) tally.note('the bytes are in little-endian order, which only revision 2 allows; read so');
  const traces = new TraceColumns();
  const found = await findTraces(source, file, options, tally, (trace) => {
    if (traces.n >= 2 * PINGS_MAX) throw new UnsupportedError(`${source.name}: more than ${2 * PINGS_MAX} traces; split the file`);
    traces.add(trace);
  }, context);
  const sides = chooseSides(traces, options, tally);
  const pings = withoutRepeats(traces, groupPings(traces, sides), tally);
  const heads = headsOf(traces, pings, options, tally);
  const counts: Record<string, number> = {};
  for (let i = 0; i < traces.n; i++) {
    const side = sides.of[i] as number;
    const name = side === PORT ? 'port traces' : side === STARBOARD ? 'starboard traces' : 'traces of other channels';
    counts[name] = (counts[name] ?? 0) + 1;
  }
  const summary = summariseSonar('segy', heads, counts, found, tally);
  const sampleBytes = FORMATS[file.format]!.bytes;
  return {
    heads,
    summary,
    async read(start, end, signal): Promise<SonarSamples> {
      const stretch = emptyStretch(heads, start, end);
      const piece: { bytes: Uint8Array; start: number; view: DataView } = { bytes: new Uint8Array(0), start: 0, view: new DataView(new ArrayBuffer(0)) };
      const lastByte = end > start ? Math.max(...[end - 1, Math.max(start, end - 2)].flatMap((ping) => [pings.port[ping] as number, pings.starboard[ping] as number]).map((trace) => (trace < 0 ? 0 : traces.get(trace, DATA_AT) + traces.get(trace, SAMPLES) * sampleBytes))) : 0;
      for (let ping = start; ping < end; ping++) {
        for (const [trace, out] of [[pings.port[ping] as number, stretch.port], [pings.starboard[ping] as number, stretch.starboard]] as const) {
          if (trace < 0) continue;
          const at = traces.get(trace, DATA_AT);
          const samples = traces.get(trace, SAMPLES);
          const until = at + samples * sampleBytes;
          if (at < piece.start || until > piece.start + piece.bytes.length) {
            piece.bytes = await source.read(at, Math.max(until, Math.min(at + PIECE_BYTES, lastByte)), signal);
            piece.start = at;
            piece.view = new DataView(piece.bytes.buffer, piece.bytes.byteOffset, piece.bytes.byteLength);
          }
          const there = Math.min(samples, Math.floor((piece.start + piece.bytes.length - at) / sampleBytes));
          decodeSamples(piece.view, at - piece.start, there, file.format, file.little, out, (ping - start) * stretch.width, traces.get(trace, SCALE));
        }
      }
      return stretch;
    },
    close: () => Promise.resolve(),
  };
}

const PORT = 0;
const STARBOARD = 1;
const OTHER = 2;

interface Sides {
  /** PORT, STARBOARD or OTHER. Shape [traces]. */
  readonly of: Uint8Array;
}

/** Which side each trace is. */
function chooseSides(traces: TraceColumns, options: SegyOptions, tally: SonarTally): Sides {
  const counts = new Map<number, number>();
  for (let i = 0; i < traces.n && counts.size < 64; i++) counts.set(traces.get(i, CHANNEL), (counts.get(traces.get(i, CHANNEL)) ?? 0) + 1);
  // A number that is only seen now and then is damage, not a channel; numbers that all differ are no channels at all.
  const most = Math.max(...counts.values());
  const channels = counts.size >= 64 ? [] : [...counts].filter(([, count]) => count * 20 >= most).map(([channel]) => channel).sort((a, b) => a - b);
  const of = new Uint8Array(traces.n);
  const { channels: stated } = options;
  if (stated !== undefined && stated !== null) {
    for (let i = 0; i < traces.n; i++) of[i] = traces.get(i, CHANNEL) === stated.port ? PORT : traces.get(i, CHANNEL) === stated.starboard ? STARBOARD : OTHER;
    if (!of.some((side) => side !== OTHER)) tally.note(`none of the traces has the channel number you name: they are numbered ${channels.join(', ')}`);
    return { of };
  }
  if (channels.length >= 2) {
    for (let i = 0; i < traces.n; i++) of[i] = traces.get(i, CHANNEL) === channels[0] ? PORT : traces.get(i, CHANNEL) === channels[1] ? STARBOARD : OTHER;
    const renumbered = channels.length > 2 ? takeRenumbered(traces, of) : null;
    if (renumbered !== null) {
      tally.note(`from trace ${renumbered.first + 1} on there are records without channels ${channels[0]} and ${channels[1]}: of those, ${renumbered.port} is taken as port${renumbered.starboard === null ? '' : `, ${renumbered.starboard} as starboard`}; name the channels as a setting (sonar.channels) if that is wrong`);
    }
    const others = channels.filter((channel) => !channels.slice(0, 2).includes(channel) && channel !== renumbered?.port && channel !== renumbered?.starboard);
    if (others.length > 0) tally.note(`channels ${channels.join(', ')}: ${channels[0]} is taken as port, ${channels[1]} as starboard, ${others.join(', ')} ${others.length === 1 ? 'is' : 'are'} kept in the raw log but not shown; name them as a setting (sonar.channels) if that is wrong`);
    return { of };
  }
  // One number for all, or none that means anything: two traces with the same field record are the two sides in order.
  let pairs = 0;
  for (let i = 1; i < traces.n; i += 2) if (traces.get(i, FIELD_RECORD) === traces.get(i - 1, FIELD_RECORD) && traces.get(i, FIELD_RECORD) !== traces.get(i + 1 < traces.n ? i + 1 : i - 2 < 0 ? i : i - 2, FIELD_RECORD)) pairs++;
  if (traces.n >= 4 && pairs > traces.n * 0.45) {
    for (let i = 0; i < traces.n; i++) of[i] = i > 0 && traces.get(i, FIELD_RECORD) === traces.get(i - 1, FIELD_RECORD) ? STARBOARD : PORT;
    tally.note('the traces carry no channel numbers: of the two of each record, the first is taken as port; swap them as a setting (sonar.swapSides) if that is wrong');
    return { of };
  }
  tally.note('one channel only: held as port; if it looks to starboard, say so as a setting (sonar.swapSides)');
  return { of };
}

/**
 * Records in which neither of the two channels is, though others are: a sonar that was set up anew on the way. Their lowest channel is
 * taken as port, the next as starboard. Null where there is no such record, or hardly any.
 */
function takeRenumbered(traces: TraceColumns, of: Uint8Array): { readonly first: number; readonly port: number; readonly starboard: number | null } | null {
  const rows: number[] = [];
  const counts = new Map<number, number>();
  for (let start = 0; start < traces.n; ) {
    let end = start;
    let isOther = true;
    while (end < traces.n && traces.get(end, FIELD_RECORD) === traces.get(start, FIELD_RECORD)) {
      if (of[end] !== OTHER) isOther = false;
      end++;
    }
    for (let i = start; isOther && i < end; i++) {
      rows.push(i);
      counts.set(traces.get(i, CHANNEL), (counts.get(traces.get(i, CHANNEL)) ?? 0) + 1);
    }
    start = end;
  }
  if (rows.length * 20 < traces.n) return null;
  const most = Math.max(...counts.values());
  const [port, starboard = null] = [...counts].filter(([, count]) => count * 20 >= most).map(([channel]) => channel).sort((a, b) => a - b) as [number, number?];
  for (const i of rows) of[i] = traces.get(i, CHANNEL) === port ? PORT : traces.get(i, CHANNEL) === starboard ? STARBOARD : OTHER;
  return { first: rows[0] as number, port, starboard };
}

interface Pings {
  readonly n: number;
  /** Trace of each side; -1 where there is none. */
  readonly port: Int32Array;
  readonly starboard: Int32Array;
}

function groupPings(traces: TraceColumns, { of }: Sides): Pings {
  const [port, starboard] = [new Int32Array(traces.n).fill(-1), new Int32Array(traces.n).fill(-1)];
  let ping = -1;
  let record = NaN;
  for (let i = 0; i < traces.n; i++) {
    if (of[i] === OTHER) continue;
    const side = of[i] === PORT ? port : starboard;
    const own = traces.get(i, FIELD_RECORD);
    if (ping < 0 || own !== record || side[ping] !== -1) ping++;
    record = own;
    side[ping] = i;
  }
  return { n: ping + 1, port: port.subarray(0, ping + 1), starboard: starboard.subarray(0, ping + 1) };
}

/** Pings without those that were written a second time: the same field record number and time as one before. Where the numbers mean nothing, all. */
function withoutRepeats(traces: TraceColumns, pings: Pings, tally: SonarTally): Pings {
  const traceOf = (ping: number): number => ((pings.port[ping] as number) >= 0 ? pings.port[ping] : pings.starboard[ping]) as number;
  const seen = new Map<number, number>();
  const kept: number[] = [];
  let n = 0;
  for (let i = 0; i < pings.n; i++) {
    const trace = traceOf(i);
    const [record, time] = [traces.get(trace, FIELD_RECORD), traces.get(trace, TIME)];
    const before = seen.get(record);
    // Both sides of one ping under a number twice in a row are two pings of a sonar that does not count.
    if (before !== undefined && before === time && traces.get(traceOf(i - 1), FIELD_RECORD) !== record) n++;
    else kept.push(i);
    seen.set(record, time);
  }
  if (n === 0 || seen.size < pings.n / 2) return pings;
  const first = kept.findIndex((ping, at) => ping !== at);
  tally.reject('repeated', 'pings that stand there a second time, with the same record number and time: the first of each is used', (first < 0 ? kept.length : first) + 1, n);
  return { n: kept.length, port: Int32Array.from(kept, (i) => pings.port[i] as number), starboard: Int32Array.from(kept, (i) => pings.starboard[i] as number) };
}

function headsOf(traces: TraceColumns, pings: Pings, options: SegyOptions, tally: SonarTally): SonarHeads {
  const heads = emptyHeads(pings.n);
  const { sampleIntervalUs = null } = options;
  let [coarse, gridded, local, gps] = [0, 0, 0, 0];
  for (let i = 0; i < pings.n; i++) {
    const trace = (pings.port[i] as number) >= 0 ? (pings.port[i] as number) : (pings.starboard[i] as number);
    heads.portSamples[i] = (pings.port[i] as number) < 0 ? 0 : traces.get(pings.port[i] as number, SAMPLES);
    heads.starboardSamples[i] = (pings.starboard[i] as number) < 0 ? 0 : traces.get(pings.starboard[i] as number, SAMPLES);
    const flags = traces.flags[trace] as number;
    if ((flags & 1) === 0) coarse++;
    if ((flags & 2) !== 0) gridded++;
    if ((flags & 4) !== 0) local++;
    let time = traces.get(trace, TIME);
    if ((flags & 8) !== 0) {
      gps++;
      time -= LEAP.find(([from]) => time >= from)?.[1] ?? 0;
    }
    heads.timeS[i] = time;
    const interval = sampleIntervalUs ?? traces.get(trace, INTERVAL);
    heads.intervalS[i] = interval > 0 ? interval / 1e6 : NaN;
    heads.delayS[i] = traces.get(trace, DELAY);
    heads.latDeg[i] = traces.get(trace, LAT);
    heads.lonDeg[i] = traces.get(trace, LON);
    heads.headingDeg[i] = traces.get(trace, HEADING);
    heads.heightM[i] = traces.get(trace, HEIGHT);
    heads.depthM[i] = traces.get(trace, DEPTH);
    heads.frequencyHz[i] = traces.get(trace, FREQUENCY);
  }
  if (coarse > pings.n / 2 && spreadSeconds(heads.timeS)) tally.note('times are given to the second only: pings are spread evenly within each second');
  if (gridded > 0) tally.note('positions are given in metres of a grid that the file does not name: they are not used');
  if (local > 0) tally.note('times are said to be local time: they are taken as UTC; correct them with the sonar\'s clock offset (sonar.clockOffsetS)');
  if (gps > 0) tally.note('times are said to be GPS time: leap seconds are taken off');
  return heads;
}
