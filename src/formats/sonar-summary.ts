import type { LogSummary, RejectCount } from '../base/observations.js';
import type { SonarHeads, SonarReader, SonarSamples } from '../base/sonar.js';

/** An open side-scan log with how it was understood. */
export interface OpenSonar extends SonarReader {
  readonly summary: LogSummary;
}

/** What a writer of side-scan logs is given: heads, and samples a stretch at a time, so that an hour streams. */
export interface SonarContent {
  readonly heads: SonarHeads;
  read(start: number, end: number, signal?: AbortSignal): Promise<SonarSamples> | SonarSamples;
}

/** More samples on a side than any side-scan sonar makes; a record that claims more is damaged. */
export const SAMPLES_MAX = 1 << 18;
/** More pings than four days at fifteen a second. */
export const PINGS_MAX = 6_000_000;
/** The largest stretch that is read at once [samples of one side]. */
const STRETCH_MAX = 1 << 27;
const FIRST_LINES = 5;

/** Counts why something in a log was not used, with the first places. */
export class SonarTally {
  readonly #rejects = new Map<string, { reason: string; count: number; firstLines: number[] }>();
  readonly notes: string[] = [];

  /** @param record 1-based record or trace */
  reject(code: string, reason: string, record: number, count = 1): void {
    const entry = this.#rejects.get(code) ?? { reason, count: 0, firstLines: [] };
    entry.count += count;
    if (entry.firstLines.length < FIRST_LINES) entry.firstLines.push(record);
    this.#rejects.set(code, entry);
  }

  note(text: string): void {
    if (!this.notes.includes(text)) this.notes.push(text);
  }

  countOf(code: string): number {
    return this.#rejects.get(code)?.count ?? 0;
  }

  rejects(): RejectCount[] {
    return [...this.#rejects].map(([code, entry]) => ({ code, ...entry }));
  }
}

/** Heads of n pings in which nothing is known yet: numbers NaN, samples 0, records in order. */
export function emptyHeads(n: number): SonarHeads {
  return {
    n,
    timeS: new Float64Array(n).fill(NaN),
    record: Uint32Array.from({ length: n }, (_, i) => i),
    portSamples: new Uint32Array(n),
    starboardSamples: new Uint32Array(n),
    intervalS: new Float64Array(n).fill(NaN),
    delayS: new Float64Array(n),
    latDeg: new Float64Array(n).fill(NaN),
    lonDeg: new Float64Array(n).fill(NaN),
    headingDeg: new Float32Array(n).fill(NaN),
    heightM: new Float32Array(n).fill(NaN),
    depthM: new Float32Array(n).fill(NaN),
    frequencyHz: new Float32Array(n).fill(NaN),
  };
}

/** An empty stretch as wide as its longest side, NaN throughout. @throws RangeError where the range is not within the log or more than memory should hold */
export function emptyStretch(heads: SonarHeads, start: number, end: number): SonarSamples {
  if (!Number.isInteger(start) || !Number.isInteger(end) || start < 0 || end > heads.n || start > end) throw new RangeError(`pings ${start} to ${end}: expected a range within 0 to ${heads.n}`);
  let width = 0;
  for (let i = start; i < end; i++) width = Math.max(width, heads.portSamples[i] as number, heads.starboardSamples[i] as number);
  const n = end - start;
  if (n * width > STRETCH_MAX) throw new RangeError(`pings ${start} to ${end} with ${width} samples a side: read no more than ${Math.floor(STRETCH_MAX / width)} of them at once`);
  return { n, width, port: new Float32Array(n * width).fill(NaN), starboard: new Float32Array(n * width).fill(NaN) };
}

/** Whether a ping reaches another range than the one before it, on a side that both have. */
function isAnotherRange(heads: SonarHeads, i: number): boolean {
  if (heads.intervalS[i] !== heads.intervalS[i - 1] && !(Number.isNaN(heads.intervalS[i] as number) && Number.isNaN(heads.intervalS[i - 1] as number))) return true;
  return [heads.portSamples, heads.starboardSamples].some((samples) => samples[i] !== samples[i - 1] && (samples[i] as number) > 0 && (samples[i - 1] as number) > 0);
}

/** How many times stand there a second time. */
function repeatedTimes(timeS: Float64Array): number {
  const sorted = timeS.slice().sort();
  let repeated = 0;
  for (let i = 1; i < sorted.length; i++) if (sorted[i] === sorted[i - 1]) repeated++;
  return repeated;
}

/** A span of time in the unit it is told in. */
function spanText(spanS: number): string {
  return spanS < 90 ? `${spanS.toFixed(spanS < 10 ? 2 : 0)} s` : spanS < 5400 ? `${(spanS / 60).toFixed(1)} min` : `${(spanS / 3600).toFixed(1)} h`;
}

/** How a side-scan log was understood, from its heads and what was counted on the way. Adds notes on times, positions and ranges that cannot be right. */
export function summariseSonar(kind: string, heads: SonarHeads, counts: Readonly<Record<string, number>>, records: number, tally: SonarTally): LogSummary {
  let [timeStartS, timeEndS, south, west, north, east] = [NaN, NaN, Infinity, Infinity, -Infinity, -Infinity];
  let [fixes, timeless, backwards, oneSided, both, before] = [0, 0, 0, 0, 0, -Infinity];
  const ranges: number[] = [];
  const changed: number[] = [];
  let [firstBack, mostBackS] = [-1, 0];
  for (let i = 0; i < heads.n; i++) {
    const time = heads.timeS[i] as number;
    if (Number.isNaN(time)) timeless++;
    else {
      if (time < before) {
        if (backwards++ === 0) firstBack = i;
        mostBackS = Math.max(mostBackS, before - time);
      }
      before = time;
      if (!(time >= timeStartS)) timeStartS = time;
      if (!(time <= timeEndS)) timeEndS = time;
    }
    const [lat, lon] = [heads.latDeg[i] as number, heads.lonDeg[i] as number];
    if (!Number.isNaN(lat) && !Number.isNaN(lon)) {
      fixes++;
      south = Math.min(south, lat);
      north = Math.max(north, lat);
      west = Math.min(west, lon);
      east = Math.max(east, lon);
    }
    const [port, starboard] = [heads.portSamples[i] as number, heads.starboardSamples[i] as number];
    if (port > 0 && starboard > 0) both++;
    else oneSided++;
    if (i > 0 && isAnotherRange(heads, i)) changed.push(i);
    if (ranges.length < 4096) ranges.push((Math.max(port, starboard) * (heads.intervalS[i] as number)) / 2);
  }
  if (timeless === heads.n) tally.note('no ping carries a time: the log cannot be placed along the track; nothing is lost, but it takes no part in the mosaic');
  else if (timeless > 0) tally.note(`${timeless} of ${heads.n} pings carry no time: they take no part in the mosaic`);
  if (backwards > 0) tally.note(`the sonar's clock goes back ${backwards} ${backwards === 1 ? 'time' : 'times'}, first at ping ${firstBack + 1}, by ${spanText(mostBackS)}${backwards === 1 ? '' : ' at most'}: each ping is taken at the time it carries; look whether the clock was set on the way`);
  const repeated = repeatedTimes(heads.timeS);
  if (repeated > 0) tally.note(`${repeated} of ${heads.n} pings carry the same time as another: recorded twice, or the clock stood still; all are kept`);
  if (fixes === 0) tally.note('no positions in the records: the track comes from the boat\'s own log of that time, which must be taken in too');
  if (both > 0 && oneSided > 0) tally.note(`${oneSided} of ${heads.n} pings have one side only`);
  if (changed.length > 0) tally.note(`the range or the number of samples changes ${changed.length} ${changed.length === 1 ? 'time' : 'times'} on the way, first at ping ${(changed[0] as number) + 1}; each ping is read with its own`);
  // At about 1 500 m/s: between the shortest and the longest range that such sonars are run at.
  const sound = ranges.filter((half) => Number.isFinite(half)).sort((a, b) => a - b);
  const rangeM = 1500 * (sound[sound.length >> 1] ?? NaN);
  if (Number.isNaN(rangeM)) tally.note('no time between samples is given: slant ranges are unknown; name it as a setting (sonar.sampleIntervalUs)');
  else if (rangeM < 1 || rangeM > 3000) tally.note(`samples reach to ${rangeM < 10 ? rangeM.toPrecision(2) : Math.round(rangeM)} m, which no side-scan sonar is run at: the time between samples in the file is not to be trusted; name it as a setting (sonar.sampleIntervalUs)`);
  return {
    kind,
    lines: records,
    counts,
    rejects: tally.rejects(),
    notes: tally.notes,
    fixes,
    pings: heads.n,
    timeStartS,
    timeEndS,
    bbox: fixes === 0 ? null : { south, west, north, east },
    depthMinM: NaN,
    depthMaxM: NaN,
  };
}
