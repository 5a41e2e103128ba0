import { formatUtc } from '../base/time.js';
import type { Route, RouteLeg } from './route.js';
import { escapeXml } from './xml-escape.js';

/** Where a field is read: the route, and the waypoint in the loop; index -1 outside it. */
export interface FieldPlace {
  readonly route: Route;
  readonly legs: readonly RouteLeg[];
  readonly index: number;
  /** Its place in the loop, from 0, and how many the loop has. */
  readonly at: number;
  readonly count: number;
}

type FieldKind = 'angle' | 'course' | 'length' | 'speed' | 'time' | 'count' | 'text';

interface Field {
  readonly kind: FieldKind;
  /** Only inside a loop. */
  readonly loop: boolean;
  readonly value: (place: FieldPlace) => number | string;
}

const at = (place: FieldPlace): Route['waypoints'][number] => place.route.waypoints[place.index]!;
const lastLeg = (place: FieldPlace): number => place.legs[place.legs.length - 1]?.alongM ?? NaN;

/** NaN and the empty text: not known. */
const FIELDS: Readonly<Record<string, Field>> = {
  lat: { kind: 'angle', loop: true, value: (place) => at(place).latDeg },
  lon: { kind: 'angle', loop: true, value: (place) => at(place).lonDeg },
  name: { kind: 'text', loop: true, value: (place) => at(place).name },
  kind: { kind: 'text', loop: true, value: (place) => at(place).kind },
  line: { kind: 'count', loop: true, value: (place) => at(place).line ?? NaN },
  number: { kind: 'count', loop: true, value: (place) => place.index + 1 },
  index: { kind: 'count', loop: true, value: (place) => place.index },
  course: { kind: 'course', loop: true, value: (place) => place.legs[place.index]!.courseDeg },
  length: { kind: 'length', loop: true, value: (place) => place.legs[place.index]!.lengthM },
  along: { kind: 'length', loop: true, value: (place) => place.legs[place.index]!.alongM },
  speed: { kind: 'speed', loop: true, value: (place) => at(place).speedMps },
  time: { kind: 'time', loop: true, value: (place) => at(place).timeS },
  xtd: { kind: 'length', loop: true, value: (place) => at(place).xtdM },
  radius: { kind: 'length', loop: true, value: (place) => at(place).radiusM },
  route: { kind: 'text', loop: false, value: (place) => place.route.name },
  description: { kind: 'text', loop: false, value: (place) => place.route.description },
  count: { kind: 'count', loop: false, value: (place) => place.route.waypoints.length },
  total: { kind: 'length', loop: false, value: lastLeg },
};

export const FIELD_NAMES: readonly string[] = Object.keys(FIELDS);

/** Units and forms by kind of field; the first is the one without a word. Factors multiply metres, m/s, degrees. */
const FORMS: Readonly<Record<FieldKind, readonly string[]>> = {
  angle: ['deg', 'dm', 'dms', '1e7', 'rad'],
  course: ['deg', 'rad'],
  length: ['m', 'km', 'nm', 'ft', 'cm'],
  speed: ['mps', 'kn', 'kmh', 'cms'],
  time: ['iso', 'unix', 'ms', 'hms', 'date'],
  count: ['plain'],
  text: ['plain', 'xml', 'csv', 'json'],
};
const FACTOR: Readonly<Record<string, number>> = { m: 1, km: 0.001, nm: 1 / 1852, ft: 1 / 0.3048, cm: 100, mps: 1, kn: 3600 / 1852, kmh: 3.6, cms: 100, deg: 1, rad: Math.PI / 180, '1e7': 1e7 };
const DECIMALS: Readonly<Record<string, number>> = { m: 2, km: 5, nm: 5, ft: 1, cm: 0, mps: 3, kn: 3, kmh: 2, cms: 0, deg: 8, rad: 10, '1e7': 0, dm: 5, dms: 3, iso: 0, unix: 0, ms: 0, hms: 0 };

/** A field as a template writes it. */
export interface FieldSpec {
  readonly name: string;
  readonly form: string;
  readonly decimals: number;
  /** Zeros before the number up to this many signs; 0: none. */
  readonly width: number;
  /** What stands for it where it is not known; null: that is a fault. */
  readonly otherwise: string | null;
}

/**
 * Reads the words of a mark: `FIELD [unit or form] [decimals] [pad WIDTH] [else TEXT]`.
 * @returns the field, or what is wrong as the rest of a sentence that begins with "expected"
 */
export function fieldSpec(words: readonly string[], inLoop: boolean): FieldSpec | string {
  const [name, ...rest] = words as [string, ...string[]];
  const field = Object.hasOwn(FIELDS, name) ? FIELDS[name] : undefined;
  if (field === undefined) return `a field, found ${name}; fields: ${FIELD_NAMES.join(', ')}; words: each, if, else, end, note`;
  if (field.loop && !inLoop) return `${name} inside @(each), found outside; only route, description, count and total stand there`;
  const forms = FORMS[field.kind];
  let form = forms[0]!;
  let decimals: number | null = null;
  let width = 0;
  let otherwise: string | null = null;
  for (let i = 0; i < rest.length; i++) {
    const word = rest[i]!;
    if (word === 'else') {
      otherwise = rest.slice(i + 1).join(' ');
      break;
    }
    if (word === 'pad') {
      const digits = rest[++i] ?? '';
      if (!/^\d{1,2}$/.test(digits) || field.kind === 'text') return `a number and a width after pad, found ${name} pad ${digits}; e.g. @(number pad 3)`;
      width = Number(digits);
    } else if (forms.includes(word)) form = word;
    else if (/^\d{1,2}$/.test(word) && Number(word) <= 12 && field.kind !== 'text' && field.kind !== 'count' && !(field.kind === 'time' && Number(word) > 6)) decimals = Number(word);
    else return `one of ${forms.join(', ')}${field.kind === 'text' || field.kind === 'count' ? '' : ', decimals'}, pad WIDTH or else TEXT after ${name}, found ${word}`;
  }
  return { name, form, decimals: decimals ?? DECIMALS[form] ?? 0, width, otherwise };
}

/** Whether a field has a value at a place. */
export function isKnown(name: string, place: FieldPlace): boolean {
  const value = FIELDS[name]!.value(place);
  return typeof value === 'number' ? Number.isFinite(value) : value !== '';
}

/** A field's text at a place; null where it is not known and nothing stands for it. */
export function fieldText(spec: FieldSpec, place: FieldPlace): string | null {
  const field = FIELDS[spec.name]!;
  // An empty text is a text; only `else` asks whether there is one.
  if (!isKnown(spec.name, place) && (field.kind !== 'text' || spec.otherwise !== null)) return spec.otherwise;
  const value = field.value(place);
  const text = typeof value === 'string' ? escaped(value, spec.form) : field.kind === 'time' ? timeText(value, spec) : numberText(value, spec, field.kind);
  const sign = text.startsWith('-') ? '-' : '';
  return spec.width === 0 ? text : sign + text.slice(sign.length).padStart(spec.width - sign.length, '0');
}

function numberText(value: number, { name, form, decimals }: FieldSpec, kind: FieldKind): string {
  if (kind === 'count') return String(value);
  if (form === 'dm' || form === 'dms') return sexagesimal(value, form, decimals, name === 'lat');
  const fixed = (value * FACTOR[form]!).toFixed(decimals);
  if (kind === 'course' && form === 'deg' && Number(fixed) === 360) return (0).toFixed(decimals);
  return Number(fixed) === 0 ? fixed.replace('-', '') : fixed;
}

/** `46 12.34567 N` or `46 12 20.740 N`: rounded as a whole, so that 60 becomes the next degree or minute. */
function sexagesimal(valueDeg: number, form: 'dm' | 'dms', decimals: number, isLat: boolean): string {
  const perDegree = form === 'dm' ? 60 : 3600;
  const unit = 10 ** decimals;
  const units = Math.round(Math.abs(valueDeg) * perDegree * unit);
  const degrees = Math.floor(units / (perDegree * unit));
  const rest = units - degrees * perDegree * unit;
  const side = valueDeg < 0 && units > 0 ? (isLat ? 'S' : 'W') : isLat ? 'N' : 'E';
  const two = (part: number): string => (part / unit).toFixed(decimals).padStart(decimals === 0 ? 2 : decimals + 3, '0');
  const whole = String(degrees).padStart(isLat ? 2 : 3, '0');
  if (form === 'dm') return `${whole} ${two(rest)} ${side}`;
  const minutes = Math.floor(rest / (60 * unit));
  return `${whole} ${String(minutes).padStart(2, '0')} ${two(rest - minutes * 60 * unit)} ${side}`;
}

function timeText(timeS: number, { form, decimals }: FieldSpec): string {
  switch (form) {
    case 'unix':
      return timeS.toFixed(decimals);
    case 'ms':
      return (timeS * 1000).toFixed(decimals);
    case 'hms':
      return formatUtc(timeS, decimals).slice(11, -1);
    case 'date':
      return formatUtc(timeS).slice(0, 10);
    default:
      return formatUtc(timeS, decimals);
  }
}

function escaped(text: string, form: string): string {
  if (form === 'xml') return escapeXml(text);
  if (form === 'csv') return /[",\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
  return form === 'json' ? JSON.stringify(text).slice(1, -1) : text;
}
