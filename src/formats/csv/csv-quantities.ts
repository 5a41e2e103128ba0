import type { SeriesName } from '../../base/observations.js';

/** Units a column can be in, by dimension: SI value = number * factor + offset. The empty dimension has no unit. */
export const CSV_UNITS = {
  length: { m: [1, 0], ft: [0.3048, 0], fathom: [1.8288, 0], cm: [0.01, 0], mm: [0.001, 0], km: [1000, 0] },
  angle: { deg: [1, 0], rad: [180 / Math.PI, 0] },
  speed: { 'm/s': [1, 0], kn: [1852 / 3600, 0], 'km/h': [1 / 3.6, 0], 'ft/s': [0.3048, 0] },
  temperature: { 'deg C': [1, 0], 'deg F': [5 / 9, -160 / 9], K: [1, -273.15] },
  voltage: { V: [1, 0], mV: [0.001, 0] },
  current: { A: [1, 0], mA: [0.001, 0] },
  share: { '%': [1, 0], '0..1': [100, 0] },
  pressure: { dbar: [1, 0], bar: [10, 0], kPa: [0.1, 0] },
  none: { '1': [1, 0] },
  /** Positions: degrees; degrees and minutes apart (`46 12.345 N`); degrees and minutes run together (`4612.345`); degrees times ten million. */
  position: { deg: [1, 0], 'deg min': [1, 0], ddmm: [1, 0], 'deg 1e7': [1e-7, 0] },
  /** Whole times: `iso` year first, `dmy` day first, `mdy` month first, each with a time of day; seconds or milliseconds since 1970. */
  time: { iso: [1, 0], dmy: [1, 0], mdy: [1, 0], 's 1970': [1, 0], 'ms 1970': [1, 0] },
  date: { ymd: [1, 0], dmy: [1, 0], mdy: [1, 0], yyyymmdd: [1, 0], ddmmyy: [1, 0] },
  /** Time of day: `h:mm:ss`, `hhmmss` run together, seconds or hours since midnight. */
  timeOfDay: { hms: [1, 0], hhmmss: [1, 0], s: [1, 0], h: [3600, 0] },
} as const satisfies Record<string, Record<string, readonly [number, number]>>;

export type CsvDimension = keyof typeof CSV_UNITS;

interface QuantityRow {
  readonly dimension: CsvDimension;
  /** What the user is shown. */
  readonly label: string;
  /** The series of a log it becomes, where it is one. */
  readonly series?: SeriesName;
  /** Matched against the column's name in lower case, words parted by single spaces, unit taken off. The better the sooner. */
  readonly names: readonly RegExp[];
}

/** What a CSV column can hold. After conversion: metres, degrees, m/s, deg C, volt, ampere, per cent, decibar. */
export const CSV_QUANTITIES = {
  time: { dimension: 'time', label: 'date and time, UTC', names: [/^(utc )?(timestamp|date ?time|date time utc|time stamp|epoch|unix( time)?|posix)( utc| gmt| s| ms)?$/, /^time( utc| gmt)?$/, /^(utc|when|date)$/] },
  date: { dimension: 'date', label: 'date, UTC', names: [/^(utc )?date( utc| gmt)?$/, /^(day|ymd)$/] },
  timeOfDay: { dimension: 'timeOfDay', label: 'time of day, UTC', names: [/^(utc )?time of day$/, /^(utc )?time( utc| gmt)?$/, /^(hms|clock|utc|gmt)$/] },
  lat: { dimension: 'position', label: 'latitude', names: [/^(gps |gnss )?lat(itude)?( wgs ?84)?$/, /^lat/, /^y$/] },
  lon: { dimension: 'position', label: 'longitude', names: [/^(gps |gnss )?(lon|long|lng|longitude)( wgs ?84)?$/, /^lon/, /^x$/] },
  depth: { dimension: 'length', label: 'depth, positive down', names: [/^(water |sonar |sounder |measured |raw )?depth$/, /^(dpt|dbt|sounding|depth .*)$/, /depth/, /^z$/] },
  elevation: { dimension: 'length', label: 'elevation of the bottom, positive up', names: [/^(bottom |bed )?(elevation|elev)$/, /elevation/] },
  height: { dimension: 'length', label: 'antenna height above the geoid', names: [/^(gps |gnss |antenna )?(altitude|alt|height|ele|msl)$/] },
  headingTrue: { dimension: 'angle', label: 'heading, true', series: 'headingTrueDeg', names: [/^(true heading|heading( true)?|hdt|hdg true)$/, /^(hdg|yaw)$/] },
  headingMagnetic: { dimension: 'angle', label: 'heading, magnetic', series: 'headingMagneticDeg', names: [/^(magnetic heading|heading mag(netic)?|hdm|compass|mag heading|hdg mag)$/] },
  course: { dimension: 'angle', label: 'course over ground, true', names: [/^(cog|course( over ground)?|track( true)?|course true)$/] },
  speed: { dimension: 'speed', label: 'speed over ground', names: [/^(sog|speed( over ground)?|ground speed|gps speed)$/] },
  speedThroughWater: { dimension: 'speed', label: 'speed through water', series: 'speedThroughWaterMps', names: [/^(stw|speed through water|water speed|log speed)$/] },
  hdop: { dimension: 'none', label: 'horizontal dilution', names: [/^hdop$/] },
  satellites: { dimension: 'none', label: 'satellites', names: [/^(satellites|sats|nsat|num sats|sat)$/] },
  quality: { dimension: 'none', label: 'fix quality (GGA number)', names: [/^(fix quality|quality|gps quality|fix)$/] },
  sigma: { dimension: 'length', label: 'horizontal error, one sigma', names: [/^(gnss |gps |position )?(sigma|hacc|h acc|horizontal accuracy|error)$/] },
  waterTemperature: { dimension: 'temperature', label: 'water temperature', series: 'waterTemperatureC', names: [/^(water temp(erature)?|temp(erature)?( water)?|sst|wtemp)$/, /^t$/] },
  waterLevel: { dimension: 'length', label: 'water level above datum, positive up', series: 'waterLevelM', names: [/^(water ?level|verified|observed( level)?|sea level|wl)$/, /^(preliminary|level|tide|stage|gauge|tide height)$/, /^(predicted|prediction|predicted level)$/] },
  soundSpeed: { dimension: 'speed', label: 'sound speed', series: 'soundSpeedMps', names: [/^(sound ?speed|sound velocity|svp?|speed of sound|ssp)$/, /^c$/] },
  salinity: { dimension: 'none', label: 'practical salinity', names: [/^(salinity|sal|psal|sp)$/] },
  pressure: { dimension: 'pressure', label: 'pressure', names: [/^(pressure|pres|prdm)$/] },
  windSpeed: { dimension: 'speed', label: 'wind speed, apparent', series: 'windSpeedMps', names: [/^(wind speed( apparent)?|apparent wind speed|aws)$/] },
  windAngle: { dimension: 'angle', label: 'wind angle from the bow, apparent', series: 'windAngleDeg', names: [/^(wind angle( apparent)?|apparent wind angle|awa)$/] },
  pitch: { dimension: 'angle', label: 'pitch, bow up positive', series: 'pitchDeg', names: [/^pitch( angle)?$/] },
  roll: { dimension: 'angle', label: 'roll, starboard down positive', series: 'rollDeg', names: [/^roll( angle)?$/] },
  heave: { dimension: 'length', label: 'heave, up positive', series: 'heaveM', names: [/^heave$/] },
  batteryVoltage: { dimension: 'voltage', label: 'battery voltage', series: 'batteryVoltageV', names: [/^(battery |batt |bat |pack |main )?(voltage|volts?|vbat)$/] },
  batteryCurrent: { dimension: 'current', label: 'battery current, discharge positive', series: 'batteryCurrentA', names: [/^(battery |batt |bat |pack |main )(current|amps?)$/, /^(current|amps?|ibat)$/] },
  thrusterPort: { dimension: 'share', label: 'port thruster command', series: 'thrusterPortPct', names: [/^(port (thruster|throttle|thrust|motor)|(thruster|throttle|thrust|motor) port)$/] },
  thrusterStarboard: { dimension: 'share', label: 'starboard thruster command', series: 'thrusterStarboardPct', names: [/^((starboard|stbd) (thruster|throttle|thrust|motor)|(thruster|throttle|thrust|motor) (starboard|stbd))$/] },
} as const satisfies Record<string, QuantityRow>;

export type CsvQuantity = keyof typeof CSV_QUANTITIES;

export const CSV_QUANTITY_NAMES = Object.keys(CSV_QUANTITIES) as readonly CsvQuantity[];

/** The quantity's row with its general type. */
export function csvQuantity(quantity: CsvQuantity): QuantityRow {
  return CSV_QUANTITIES[quantity];
}

/** Factor and offset from a unit to the unit values are kept in; null where the quantity has no such unit. */
export function csvConversion(quantity: CsvQuantity, unit: string): readonly [number, number] | null {
  const units: Record<string, readonly [number, number]> = CSV_UNITS[CSV_QUANTITIES[quantity].dimension];
  return units[unit] ?? null;
}

/** How units are written in headers, and the unit that is meant. */
const UNIT_SPELLINGS: Record<string, string> = {
  m: 'm', metre: 'm', metres: 'm', meter: 'm', meters: 'm', mtr: 'm', ft: 'ft', feet: 'ft', foot: 'ft', fathom: 'fathom', fathoms: 'fathom',
  fm: 'fathom', ftm: 'fathom', fth: 'fathom', cm: 'cm', mm: 'mm', km: 'km', deg: 'deg', degree: 'deg', degrees: 'deg', dd: 'deg', '°': 'deg', rad: 'rad', radians: 'rad',
  'm/s': 'm/s', mps: 'm/s', 'm s 1': 'm/s', ms: 'm/s', kn: 'kn', kt: 'kn', kts: 'kn', knots: 'kn', knot: 'kn', 'km/h': 'km/h', kmh: 'km/h', kph: 'km/h', 'ft/s': 'ft/s', fps: 'ft/s',
  c: 'deg C', degc: 'deg C', 'deg c': 'deg C', '°c': 'deg C', celsius: 'deg C', f: 'deg F', degf: 'deg F', '°f': 'deg F', fahrenheit: 'deg F', k: 'K', kelvin: 'K',
  v: 'V', volt: 'V', volts: 'V', mv: 'mV', a: 'A', amp: 'A', amps: 'A', ma: 'mA', '%': '%', pct: '%', percent: '%',
  dbar: 'dbar', decibar: 'dbar', bar: 'bar', kpa: 'kPa', psu: '1', ppt: '1', s: 's', sec: 's', seconds: 's', h: 'h', hours: 'h', hr: 'h',
};

/**
 * A column's name parted into words and unit: `Depth (ft)`, `depth_ft`, `depth [ft]` and `Depth ft` give `depth` and `ft`.
 * @returns name in lower case with single spaces; unit as in CSV_UNITS, empty where the name has none
 */
export function partColumnName(header: string): { readonly name: string; readonly unit: string } {
  let text = header.trim().replace(/([a-z]{2})([A-Z])/g, '$1 $2').toLowerCase();
  let unit = '';
  const bracket = /[([{]\s*([^)\]}]*?)\s*[)\]}]\s*$/.exec(text);
  if (bracket) {
    const inside = (bracket[1] as string).replace(/[_\s]+/g, ' ');
    if (UNIT_SPELLINGS[inside] !== undefined || /^(utc|gmt)$/.test(inside)) {
      unit = UNIT_SPELLINGS[inside] ?? '';
      text = text.slice(0, bracket.index);
    } else text = text.replace(/[()[\]{}]/g, ' ');
  }
  let words = text.split(/[^a-z0-9°%/]+/).filter((word) => word !== '');
  if (unit === '' && words.length > 1) {
    const last = words[words.length - 1] as string;
    const lastTwo = words.slice(-2).join(' ');
    if (words.length > 2 && UNIT_SPELLINGS[lastTwo] !== undefined) {
      unit = UNIT_SPELLINGS[lastTwo] as string;
      words = words.slice(0, -2);
    } else if (UNIT_SPELLINGS[last] !== undefined) {
      unit = UNIT_SPELLINGS[last] as string;
      words = words.slice(0, -1);
    }
  }
  return { name: words.join(' '), unit };
}
