import { SaxesParser } from 'saxes';
import { DEPTH_FROM } from '../base/observations.js';
import type { ObservationChunk } from './log-columns.js';
import { ObservationRows } from './log-columns.js';
import type { LogTally } from './log-tally.js';
import { CsvTimeReader } from './csv/csv-time.js';

const MAX_NESTING = 64;
/** Characters without any tag or text event before the file is given up. */
const MAX_SILENCE = 1 << 20;
const MAX_TEXT = 64;
const FEED_CHARACTERS = 1 << 16;
const SET_BACK_POINTS = 60;
const MAX_DEPTH_M = 12_000;

/** GGA quality for the GPX `fix` element. */
const FIX_QUALITY: Record<string, number> = { none: 0, '2d': 1, '3d': 1, dgps: 2, pps: 3 };

/** Elements inside a track point whose text is used; namespaces of extensions are not looked at. */
const WANTED = new Set(['time', 'ele', 'geoidheight', 'hdop', 'sat', 'fix', 'depth', 'course', 'speed', 'wtemp']);

/**
 * Reads the tracks of a GPX 1.1 (or 1.0) file given in pieces; chunks come out in `ready`.
 *
 * Every `trkpt` with a time is a fix, in the order of the file; `ele` is its height. Of extensions, elements named `depth` (a
 * ping, metres), `wtemp` (water temperature), `speed` and `course` are used, whatever their namespace.
 * Waypoints and routes are not read here. Entities that the file defines are not expanded and elements nested deeper than 64 end
 * the reading, so that a hostile file costs nothing. A file that is damaged or cut short gives what stood before the damage.
 *
 * Source: GPX 1.1 schema, http://www.topografix.com/GPX/1/1/gpx.xsd (wptType: ele, time, geoidheight, fix, sat, hdop).
 */
export class GpxTrackLog {
  readonly ready: ObservationChunk[] = [];
  private readonly rows = new ObservationRows();
  private readonly parser: SaxesParser;
  private decoder: TextDecoder | null = null;
  private stopped = '';
  private nesting = 0;
  private silence = 0;
  private inPoint = false;
  private wanted = '';
  private text = '';
  private lat = NaN;
  private lon = NaN;
  private fields = new Map<string, string>();
  private point = -1;
  private points = 0;
  private others = 0;
  private lastS = -Infinity;
  private runLength = 0;
  private runLastS = -Infinity;
  private goodPoints = 0;
  private readonly times = new CsvTimeReader();
  private readonly encoder = new TextEncoder();

  constructor(
    private readonly tally: LogTally,
    private readonly chunkRows: number,
  ) {
    const parser = new SaxesParser({ xmlns: false, position: true });
    this.parser = parser;
    parser.on('error', (error) => {
      if (this.stopped === '') this.stopped = `the file is damaged or cut short at line ${parser.line} (${error.message.replace(/^[\d:]+\s*/, '')}): what stands before is used`;
    });
    parser.on('opentag', (tag) => this.open(localName(tag.name), tag.attributes as Record<string, string>));
    parser.on('closetag', (tag) => this.close(localName(tag.name)));
    parser.on('text', (text) => {
      this.silence = 0;
      if (this.wanted !== '' && this.text.length < MAX_TEXT) this.text += text.slice(0, MAX_TEXT);
    });
  }

  feed(piece: Uint8Array): void {
    if (this.stopped !== '') return;
    this.decoder ??= new TextDecoder(encodingOf(piece));
    this.write(this.decoder.decode(piece, { stream: true }));
  }

  finish(): void {
    if (this.stopped === '' && this.decoder !== null) {
      this.write(this.decoder.decode());
      if (this.stopped === '') this.parser.close();
    }
    this.flush();
    const { tally } = this;
    tally.lines = this.parser.line;
    if (this.points > 0) tally.count('trkpt', this.points);
    if (this.others > 0) {
      tally.count('wpt or rtept', this.others);
      tally.note(`${this.others} waypoints and route points are passed over: only tracks are a log`);
    }
    if (this.stopped !== '') tally.note(this.stopped);
  }

  private write(text: string): void {
    for (let i = 0; i < text.length && this.stopped === ''; i += FEED_CHARACTERS) {
      const part = text.slice(i, i + FEED_CHARACTERS);
      this.silence += part.length;
      this.parser.write(part);
      if (this.silence > MAX_SILENCE) this.stopped = `no element ends for a million characters before line ${this.parser.line}: what stands before is used`;
    }
  }

  private open(name: string, attributes: Record<string, string>): void {
    this.silence = 0;
    if (this.stopped !== '') return;
    if (++this.nesting > MAX_NESTING) {
      this.stopped = `elements are nested deeper than ${MAX_NESTING} at line ${this.parser.line}: what stands before is used`;
      return;
    }
    if (name === 'trkpt') {
      this.inPoint = true;
      this.point++;
      this.points++;
      this.fields.clear();
      this.lat = plainNumber(attributes['lat']);
      this.lon = plainNumber(attributes['lon']);
    } else if (name === 'wpt' || name === 'rtept') this.others++;
    else if (this.inPoint && WANTED.has(name)) {
      this.wanted = name;
      this.text = '';
    }
  }

  private close(name: string): void {
    this.silence = 0;
    if (this.stopped !== '') return;
    this.nesting--;
    if (name === this.wanted) {
      this.fields.set(name, this.text.trim());
      this.wanted = '';
    } else if (name === 'trkpt' && this.inPoint) {
      this.inPoint = false;
      this.takePoint();
    }
  }

  private takePoint(): void {
    const { tally, lat, lon, point } = this;
    const quality = FIX_QUALITY[this.fields.get('fix') ?? ''] ?? 255;
    const t = this.time(this.fields.get('time') ?? '');
    if (!(Math.abs(lat) <= 90 && Math.abs(lon) <= 180)) return tally.reject('position-range', point);
    if (lat === 0 && lon === 0) return tally.reject('zero-position', point);
    if (quality === 0) return tally.reject('no-fix', point);
    if (t !== t) return tally.reject(this.fields.has('time') ? 'bad-time' : 'no-time', point);
    if (t <= this.lastS && !this.setBack(t)) return tally.reject('time-backwards', point);
    if (this.rows.rows >= this.chunkRows) this.flush();
    this.lastS = t;
    this.runLength = 0;
    this.goodPoints++;
    const { fixes } = this.rows;
    const i = fixes.add(t, lat, lon, point);
    fixes.quality[i] = quality;
    fixes.heightM[i] = this.number('ele');
    fixes.geoidM[i] = this.number('geoidheight');
    fixes.hdop[i] = this.number('hdop');
    fixes.courseDeg[i] = this.number('course');
    fixes.speedMps[i] = this.number('speed');
    const satellites = this.number('sat');
    if (satellites >= 0 && satellites <= 255) fixes.satellites[i] = satellites;
    const depthM = this.number('depth');
    if (depthM >= 0 && depthM <= MAX_DEPTH_M) this.rows.pings.add(t, depthM, NaN, DEPTH_FROM.transducer, point);
    else if (depthM === depthM) tally.reject('depth-range', point);
    const temperature = this.number('wtemp');
    if (temperature === temperature) this.rows.series('waterTemperatureC').add(t, temperature, point);
  }

  /** As in the other logs: a clock that runs on behind for 60 points, or for more than it ran before, was set back. */
  private setBack(t: number): boolean {
    this.runLength = t > this.runLastS && this.runLength > 0 ? this.runLength + 1 : 1;
    this.runLastS = t;
    if (this.runLength <= Math.min(SET_BACK_POINTS, this.goodPoints)) return false;
    this.tally.note(`the clock was set back by ${Math.round((this.lastS - t) * 1000) / 1000} s before track point ${this.point + 1}: times before and after it do not follow each other`);
    this.flush();
    this.goodPoints = 0;
    return true;
  }

  private time(text: string): number {
    const bytes = this.encoder.encode(text);
    return this.times.dateTime(bytes, 0, bytes.length, 'ymd');
  }

  private number(name: string): number {
    return plainNumber(this.fields.get(name));
  }

  private flush(): void {
    const chunk = this.rows.takeChunk();
    if (chunk !== null) this.ready.push(chunk);
  }
}

function plainNumber(text: string | undefined): number {
  const trimmed = (text ?? '').trim();
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(trimmed) ? Number(trimmed) : NaN;
}

function localName(name: string): string {
  return name.slice(name.indexOf(':') + 1);
}

/** The encoding an XML file declares, where it is one of the Latin ones; UTF-8 otherwise. */
function encodingOf(head: Uint8Array): string {
  let text = '';
  for (let i = 0; i < Math.min(head.length, 200); i++) text += String.fromCharCode(head[i] as number);
  const declared = /encoding\s*=\s*["']([A-Za-z0-9._-]+)["']/.exec(text)?.[1]?.toLowerCase() ?? '';
  return /^(iso-8859-\d+|windows-125\d|us-ascii|latin1)$/.test(declared) ? declared : 'utf-8';
}
