import type { SeriesName } from '../../base/observations.js';
import type { LogTally } from '../log-tally.js';
import type { EpochTimeline, OpenEpoch } from './epochs.js';
import { angleField, dayNumber, decimalField, textOf, timeOfDayField, twoDigits } from './fields.js';
import type { SentenceScanner, SentenceTaker } from './sentence-scanner.js';
import { SentenceTypes, TYPE } from './sentence-types.js';
import type { TransducerUse } from './transducers.js';
import { transducerUse } from './transducers.js';
import { UntimedRows } from './untimed.js';

const KNOT_MPS = 1852 / 3600;
const FOOT_M = 0.3048;
const FATHOM_M = 1.8288;
const MAX_DEPTH_M = 12_000;

/** Rank of a position by the sentence it is from: a fuller one replaces a plainer one of the same epoch. */
const RANK = { GLL: 1, RMC: 2, GGA: 3 } as const;

/** Turns sentences into epochs and untimed values. Sentence contents: IEC 61162-1 ed. 5 (2016), section 8.3. */
export class SentenceDecoder implements SentenceTaker {
  readonly types = new SentenceTypes();
  /** Depths by what they come from: place of the kind in DEPTH_KINDS times 65536, plus the two letters of the talker. */
  readonly depths = new Map<number, UntimedRows>();
  private lastDepthSource = -1;
  private lastDepths: UntimedRows | null = null;
  /** Rows of all untimed kinds. */
  rows = 0;
  unchecked = 0;
  proprietary = 0;
  private sure = 0;
  repeatedPositions = 0;
  private readonly bySeries = new Map<SeriesName, UntimedRows>();
  private readonly headingTrue = this.series('headingTrueDeg');
  private readonly headingMagnetic = this.series('headingMagneticDeg');
  private readonly variation = this.series('variationDeg');
  private readonly waterTemperature = this.series('waterTemperatureC');
  private readonly speedThroughWater = this.series('speedThroughWaterMps');
  private readonly windSpeed = this.series('windSpeedMps');
  private readonly windAngle = this.series('windAngleDeg');
  private readonly trueWindSpeed = this.series('trueWindSpeedMps');
  private readonly trueWindAngle = this.series('trueWindAngleDeg');
  private readonly transducers = new Map<string, TransducerUse | null>();
  private voltageName = '';
  private currentName = '';
  private variationFromHdg = false;
  // The sentence at hand.
  private bytes: Uint8Array = new Uint8Array(0);
  private commas: Int32Array = new Int32Array(0);
  private fields = 0;
  /** Where the comma before field 0 would be. */
  private before = 0;
  private line = 0;
  private stampS = NaN;

  constructor(
    private readonly tally: LogTally,
    private readonly timeline: EpochTimeline,
    private readonly onRows: () => void,
  ) {}

  /** The untimed series, with their names in a fixed order. */
  get seriesRows(): readonly (readonly [SeriesName, UntimedRows])[] {
    return [...this.bySeries.entries()];
  }

  sentence(scanner: SentenceScanner): void {
    const bytes = scanner.bytes;
    const { commas, first } = scanner;
    const start = scanner.addressStart;
    const length = (commas[first] as number) - start;
    if (length !== 5 || bytes[start] === 80) {
      this.irregular(scanner, start, length);
      return;
    }
    const c0 = bytes[start] as number;
    const c1 = bytes[start + 1] as number;
    const c2 = bytes[start + 2] as number;
    const c3 = bytes[start + 3] as number;
    const c4 = bytes[start + 4] as number;
    const code = (c2 << 16) | (c3 << 8) | c4;
    let type = this.types.find(code);
    if (!(isAddress(c0) && isAddress(c1) && (type >= 0 || (isAddress(c2) && isAddress(c3) && isAddress(c4))))) {
      this.tally.reject('malformed', scanner.line);
      return;
    }
    if (type < 0) type = this.types.number(code);
    if (type < 0) {
      this.tally.count('other');
      return;
    }
    const talker = (c0 << 8) | c1;
    if (scanner.checked) this.types.markChecked(type, talker);
    else if (this.types.wasChecked(type, talker)) {
      this.tally.reject('cut-short', scanner.line);
      return;
    } else this.unchecked++;
    this.types.counts[type] = (this.types.counts[type] as number) + 1;
    if (scanner.checked || type <= TYPE.XDR) this.sure++;
    if (type > TYPE.XDR) return;
    this.bytes = bytes;
    this.commas = commas;
    this.before = first - 1;
    this.fields = scanner.fields;
    this.line = scanner.line;
    this.stampS = scanner.stampS;
    switch (type) {
      case TYPE.GGA: return this.gga();
      case TYPE.RMC: return this.rmc();
      case TYPE.VTG: return this.vtg();
      case TYPE.GLL: return this.gll();
      case TYPE.GNS: return this.gns();
      case TYPE.GSA: return this.gsa();
      case TYPE.GST: return this.gst();
      case TYPE.ZDA: return this.zda();
      case TYPE.HDT: return this.heading(this.headingTrue);
      case TYPE.THS: return this.ths();
      case TYPE.HDG: return this.hdg();
      case TYPE.HDM: return this.heading(this.headingMagnetic);
      case TYPE.DBT: return this.depthBelow(1, talker);
      case TYPE.DPT: return this.dpt(talker);
      case TYPE.DBS: return this.depthBelow(2, talker);
      case TYPE.DBK: return this.depthBelow(3, talker);
      case TYPE.MTW: return this.mtw();
      case TYPE.VHW: return this.vhw();
      case TYPE.MWV: return this.mwv();
      case TYPE.XDR: return this.xdr();
    }
  }

  /** Sentences whose checksum is right, or that have none but are of a type that is read. */
  get sentences(): number {
    return this.sure;
  }

  /** Puts the counts by type into the tally. */
  countTypes(): void {
    this.types.names.forEach((name, i) => {
      const n = this.types.counts[i] as number;
      if (n > 0) this.tally.count(name, n);
    });
  }

  // Fields of the sentence at hand; k is 1-based.

  private start(k: number): number {
    return (this.commas[this.before + k] as number) + 1;
  }

  private end(k: number): number {
    return this.commas[this.before + k + 1] as number;
  }

  private number(k: number): number {
    if (k > this.fields) return NaN;
    return decimalField(this.bytes, this.start(k), this.end(k));
  }

  /** First character of a field, 0 where empty or absent. */
  private letter(k: number): number {
    if (k > this.fields) return 0;
    const at = this.start(k);
    return at < this.end(k) ? (this.bytes[at] as number) : 0;
  }

  private isEmpty(k: number): boolean {
    return k > this.fields || this.start(k) >= this.end(k);
  }

  /** Time of day in a field; NaN where empty (no reject) or wrong (reject). */
  private timeOfDay(k: number): number {
    if (this.isEmpty(k)) return NaN;
    const todS = timeOfDayField(this.bytes, this.start(k), this.end(k));
    if (todS !== todS) this.tally.reject('time-range', this.line);
    return todS;
  }

  /**
   * Latitude in fields k and k+1, longitude in k+2 and k+3, put into the epoch if they are better than what it has.
   * @returns whether they were put there
   */
  private position(k: number, epoch: OpenEpoch, rank: number): boolean {
    if (k + 3 > this.fields) {
      this.tally.reject('malformed', this.line);
      return false;
    }
    if (epoch.rank >= rank) {
      if (epoch.rank === rank) this.repeatedPositions++;
      return false;
    }
    let lat = angleField(this.bytes, this.start(k), this.end(k));
    let lon = angleField(this.bytes, this.start(k + 2), this.end(k + 2));
    const ns = this.letter(k + 1);
    const ew = this.letter(k + 3);
    if (ns === 83) lat = -lat;
    else if (ns !== 78) lat = NaN;
    if (ew === 87) lon = -lon;
    else if (ew !== 69) lon = NaN;
    if (!(lat >= -90 && lat <= 90 && lon >= -180 && lon <= 180)) {
      this.tally.reject('position-range', this.line);
      return false;
    }
    if (lat === 0 && lon === 0) {
      this.tally.reject('zero-position', this.line);
      return false;
    }
    epoch.latDeg = lat;
    epoch.lonDeg = lon;
    epoch.rank = rank;
    epoch.record = this.line;
    return true;
  }

  private noFix(todS: number): void {
    this.tally.reject('no-fix', this.line);
    this.timeline.fixState = 0;
    if (todS === todS) this.timeline.at(todS, NaN, false, this.line, this.stampS);
  }

  private gga(): void {
    const todS = this.timeOfDay(1);
    const quality = this.letter(6) - 48;
    if (todS !== todS || !(quality >= 1 && quality <= 9)) return this.noFix(todS);
    const epoch = this.timeline.at(todS, NaN, true, this.line, this.stampS);
    if (epoch === null || !this.position(2, epoch, RANK.GGA)) return;
    this.timeline.fixState = 1;
    epoch.quality = quality;
    const satellites = this.number(7);
    epoch.satellites = satellites >= 0 && satellites <= 255 ? satellites : 0;
    epoch.hdop = this.number(8);
    epoch.heightM = this.letter(10) === 77 ? this.number(9) : NaN;
    epoch.geoidM = this.letter(12) === 77 ? this.number(11) : NaN;
  }

  private gns(): void {
    const todS = this.timeOfDay(1);
    const quality = this.gnsQuality(6);
    if (todS !== todS || quality === 0) return this.noFix(todS);
    const epoch = this.timeline.at(todS, NaN, true, this.line, this.stampS);
    if (epoch === null || !this.position(2, epoch, RANK.GGA)) return;
    this.timeline.fixState = 1;
    epoch.quality = quality;
    const satellites = this.number(7);
    epoch.satellites = satellites >= 0 && satellites <= 255 ? satellites : 0;
    epoch.hdop = this.number(8);
    epoch.heightM = this.number(9);
    epoch.geoidM = this.number(10);
  }

  /** GGA's quality number for the best of GNS's mode letters, one a system; 0 no fix. */
  private gnsQuality(k: number): number {
    if (k > this.fields) return 0;
    let best = 0;
    let bestOrder = 0;
    for (let i = this.start(k); i < this.end(k); i++) {
      const quality = modeQuality(this.bytes[i] as number);
      const order = MODE_ORDER[quality] as number;
      if (order > bestOrder) {
        bestOrder = order;
        best = quality;
      }
    }
    return best;
  }

  private rmc(): void {
    const todS = this.timeOfDay(1);
    const mode = this.letter(12);
    if (todS !== todS || this.letter(2) !== 65 || mode === 78) return this.noFix(todS);
    const epoch = this.timeline.at(todS, this.rmcDay(9), true, this.line, this.stampS);
    if (epoch === null) return;
    if (this.position(3, epoch, RANK.RMC)) {
      this.timeline.fixState = 1;
      if (mode !== 0) epoch.quality = modeQuality(mode);
    }
    const knots = this.number(7);
    const course = this.number(8);
    if (knots >= 0) epoch.speedMps = knots * KNOT_MPS;
    if (course >= 0 && course <= 360) epoch.courseDeg = course;
    if (!this.variationFromHdg) {
      const variation = this.eastWest(10);
      if (variation === variation) this.put(this.variation, variation);
    }
  }

  /** `ddmmyy`; years 80 to 99 are 1980 to 1999 (GPS time begins in 1980), the rest 2000 to 2079. */
  private rmcDay(k: number): number {
    if (k > this.fields || this.end(k) - this.start(k) !== 6) return NaN;
    const at = this.start(k);
    const year = twoDigits(this.bytes, at + 4);
    return dayNumber(year < 80 ? 2000 + year : 1900 + year, twoDigits(this.bytes, at + 2), twoDigits(this.bytes, at));
  }

  private gll(): void {
    if (this.fields < 4) {
      this.tally.reject('malformed', this.line);
      return;
    }
    const todS = this.timeOfDay(5);
    const mode = this.letter(7);
    if (this.letter(6) === 86 || mode === 78 || this.isEmpty(1)) return this.noFix(todS);
    if (todS !== todS) {
      this.tally.reject('no-time', this.line);
      return;
    }
    const epoch = this.timeline.at(todS, NaN, true, this.line, this.stampS);
    if (epoch === null || !this.position(1, epoch, RANK.GLL)) return;
    this.timeline.fixState = 1;
    if (mode !== 0) epoch.quality = modeQuality(mode);
  }

  private zda(): void {
    const todS = this.timeOfDay(1);
    if (todS !== todS) return;
    const day = dayNumber(this.number(4), this.number(3), this.number(2));
    this.timeline.at(todS, day, this.timeline.fixState !== 0, this.line, this.stampS);
  }

  private gst(): void {
    const todS = this.timeOfDay(1);
    if (todS !== todS) return;
    const epoch = this.timeline.at(todS, NaN, this.timeline.fixState === 1, this.line, this.stampS);
    if (epoch === null) return;
    const latM = this.number(6);
    const lonM = this.number(7);
    const sigmaM = Math.sqrt((latM * latM + lonM * lonM) / 2);
    if (sigmaM === sigmaM) epoch.sigmaM = sigmaM;
    else {
      const majorM = this.number(3);
      const minorM = this.number(4);
      epoch.sigmaM = Math.sqrt((majorM * majorM + minorM * minorM) / 2);
    }
  }

  private vtg(): void {
    const epoch = this.timeline.latest;
    if (epoch === null || this.letter(9) === 78) return;
    const course = this.number(1);
    if (this.letter(2) === 84 && course >= 0 && course <= 360) epoch.courseDeg = course;
    const knots = this.letter(6) === 78 ? this.number(5) : NaN;
    if (knots >= 0) epoch.speedMps = knots * KNOT_MPS;
    else {
      const kmh = this.letter(8) === 75 ? this.number(7) : NaN;
      if (kmh >= 0) epoch.speedMps = kmh / 3.6;
    }
  }

  private gsa(): void {
    const epoch = this.timeline.latest;
    if (epoch === null || epoch.hdop === epoch.hdop) return;
    const hdop = this.number(16);
    if (hdop > 0) epoch.hdop = hdop;
  }

  private put(rows: UntimedRows, value: number): void {
    rows.add(value, NaN, this.line, this.timeline.opened, this.stampS);
    this.rows++;
    this.onRows();
  }

  private heading(rows: UntimedRows): void {
    const heading = this.number(1);
    if (heading >= 0 && heading <= 360) this.put(rows, heading);
    else if (!this.isEmpty(1)) this.tally.reject('value-range', this.line);
  }

  private ths(): void {
    if (this.letter(2) !== 86) this.heading(this.headingTrue);
  }

  private hdg(): void {
    let heading = this.number(1);
    if (heading >= 0 && heading <= 360) {
      const deviation = this.eastWest(2);
      if (deviation === deviation) heading = (heading + deviation + 360) % 360;
      this.put(this.headingMagnetic, heading);
    } else if (!this.isEmpty(1)) this.tally.reject('value-range', this.line);
    const variation = this.eastWest(4);
    if (variation === variation) {
      this.variationFromHdg = true;
      this.put(this.variation, variation);
    }
  }

  /** A number in field k with E or W in the next; east positive. */
  private eastWest(k: number): number {
    const value = this.number(k);
    const side = this.letter(k + 1);
    if (!(value >= 0 && value <= 180)) return NaN;
    return side === 69 ? value : side === 87 ? -value : NaN;
  }

  /** DBT, DBS, DBK: feet, metres, fathoms; metres are preferred, for the others are converted and rounded from them. */
  private depthBelow(kind: number, talker: number): void {
    let depthM = NaN;
    if (!this.isEmpty(3)) depthM = this.unitIs(4, 77) ? this.number(3) : -Infinity;
    else if (!this.isEmpty(1)) depthM = this.unitIs(2, 102) ? this.number(1) * FOOT_M : -Infinity;
    else if (!this.isEmpty(5)) depthM = this.unitIs(6, 70) ? this.number(5) * FATHOM_M : -Infinity;
    else return this.tally.reject('depth-empty', this.line);
    if (depthM === -Infinity) this.tally.reject('unit', this.line);
    else this.ping(kind, talker, depthM, NaN);
  }

  /** Whether a unit letter is the expected one, in either case. */
  private unitIs(k: number, letter: number): boolean {
    return (this.letter(k) | 32) === (letter | 32);
  }

  private dpt(talker: number): void {
    if (this.isEmpty(1)) return this.tally.reject('depth-empty', this.line);
    const offsetM = this.number(2);
    this.ping(0, talker, this.number(1), Math.abs(offsetM) < 100 ? offsetM : NaN);
  }

  private ping(kind: number, talker: number, depthM: number, offsetM: number): void {
    if (!(depthM >= 0 && depthM <= MAX_DEPTH_M)) {
      this.tally.reject(depthM === depthM ? 'depth-range' : 'bad-number', this.line);
      return;
    }
    const from = (kind << 16) | talker;
    let rows = from === this.lastDepthSource ? this.lastDepths : (this.depths.get(from) ?? null);
    if (rows === null) {
      rows = new UntimedRows();
      this.depths.set(from, rows);
    }
    this.lastDepthSource = from;
    this.lastDepths = rows;
    rows.add(depthM, offsetM, this.line, this.timeline.opened, this.stampS);
    this.rows++;
    this.onRows();
  }

  private mtw(): void {
    const value = this.number(1);
    if (value !== value) return;
    if (this.letter(2) !== 67) this.tally.reject('unit', this.line);
    else if (value < -5 || value > 60) this.tally.reject('value-range', this.line);
    else this.put(this.waterTemperature, value);
  }

  private vhw(): void {
    const knots = this.letter(6) === 78 ? this.number(5) : NaN;
    if (knots === knots) this.put(this.speedThroughWater, knots * KNOT_MPS);
    else if (this.letter(8) === 75) {
      const kmh = this.number(7);
      if (kmh === kmh) this.put(this.speedThroughWater, kmh / 3.6);
    }
  }

  private mwv(): void {
    if (this.letter(5) !== 65) return;
    const isTrue = this.letter(2) === 84;
    const angle = this.number(1);
    if (angle >= 0 && angle <= 360) this.put(isTrue ? this.trueWindAngle : this.windAngle, angle);
    const speed = this.number(3);
    const unit = this.letter(4);
    const factor = unit === 78 ? KNOT_MPS : unit === 77 ? 1 : unit === 75 ? 1 / 3.6 : unit === 83 ? 1609.344 / 3600 : NaN;
    if (speed !== speed) return;
    if (factor !== factor) this.tally.reject('unit', this.line);
    else this.put(isTrue ? this.trueWindSpeed : this.windSpeed, speed * factor);
  }

  private xdr(): void {
    for (let k = 1; k + 3 <= this.fields; k += 4) {
      const value = this.number(k + 1);
      if (value !== value) continue;
      // Type, then unit and name.
      const key = `${textOf(this.bytes, this.start(k), this.end(k))},${textOf(this.bytes, this.start(k + 2), this.end(k + 3))}`;
      let use = this.transducers.get(key);
      if (use === undefined) {
        const [type = '', unit = '', name = ''] = key.split(',');
        use = transducerUse(type, unit, name);
        if (this.transducers.size < 1000) this.transducers.set(key, use);
      }
      if (use === null || !this.isFirstNamed(use.series, key)) continue;
      this.put(this.series(use.series), value * use.factor);
    }
  }

  /** Of several batteries the one named first is kept. */
  private isFirstNamed(series: SeriesName, key: string): boolean {
    if (series === 'batteryVoltageV') {
      if (this.voltageName === '') this.voltageName = key;
      return this.voltageName === key;
    }
    if (series === 'batteryCurrentA') {
      if (this.currentName === '') this.currentName = key;
      return this.currentName === key;
    }
    return true;
  }

  private series(name: SeriesName): UntimedRows {
    let rows = this.bySeries.get(name);
    if (rows === undefined) {
      rows = new UntimedRows();
      this.bySeries.set(name, rows);
    }
    return rows;
  }

  /** Sentences whose address is not five characters: the manufacturers' own, counted by their first characters, or nothing we know. */
  private irregular(scanner: SentenceScanner, start: number, length: number): void {
    const bytes = scanner.bytes;
    let plain = length >= 2 && length <= 20;
    for (let i = 0; plain && i < length; i++) plain = isAddress(bytes[start + i] as number);
    if (!plain) {
      this.tally.reject('malformed', scanner.line);
      return;
    }
    if (bytes[start] === 80) {
      this.proprietary++;
      this.tally.count(textOf(bytes, start, start + Math.min(length, 8)));
    } else if (scanner.checked) this.tally.count('other');
    else this.tally.reject('malformed', scanner.line);
  }
}

function isAddress(c: number): boolean {
  return (c >= 65 && c <= 90) || (c >= 48 && c <= 57);
}

/** GGA quality number for a mode letter of RMC, GLL or GNS; 255 for one not known. */
function modeQuality(letter: number): number {
  switch (letter) {
    case 65: return 1; // A autonomous
    case 68: return 2; // D differential
    case 80: return 3; // P precise
    case 82: return 4; // R RTK fixed
    case 70: return 5; // F RTK float
    case 69: return 6; // E estimated
    case 77: return 7; // M manual
    case 83: return 8; // S simulator
    case 78: return 0; // N no fix
    default: return 255;
  }
}

/** Which of two GGA qualities is the better one: index quality. */
const MODE_ORDER: Record<number, number> = { 0: 0, 1: 5, 2: 6, 3: 7, 4: 9, 5: 8, 6: 3, 7: 2, 8: 1, 255: 0 };
