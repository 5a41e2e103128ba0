import { CARD_FIGURES, type BoatCard, type CardFigureName } from '../../boat/boat-card.js';
import type { BoatQuestion } from '../../boat/ask-card.js';
import type { BoatSummary } from '../../survey/summary.js';
import type { BoatCurves } from '../work/messages.js';
import { fixed, plural } from './figures.js';

export const SOURCE_WORDS = { trials: 'trials', hand: 'by hand', default: 'default' } as const;

/** The last place a figure is worth, as a power of ten: its uncertainty to two figures where it begins with 1 or 2, to one otherwise; three figures of the value where that is not known. */
export function placeOf(value: number, uncertainty95: number): number {
  const known = Number.isFinite(uncertainty95) && uncertainty95 > 0;
  const size = known ? uncertainty95 : Math.abs(value);
  if (!(size > 0)) return -2;
  const power = Math.floor(Math.log10(size) + 1e-9);
  return Math.min(4, Math.max(-4, known ? power - (size / 10 ** power < 3 ? 1 : 0) : power - 2));
}

const UNIT_WORDS: Readonly<Record<string, string>> = { '1': '', deg: '°', 'deg/s': '°/s', 'W/(m/s)^n': 'W/(m/s)ⁿ' };

export function unitText(unit: string): string {
  return UNIT_WORDS[unit] ?? unit;
}

/** A value with its unit and 95 %, e.g. 2.80 ± 0.11 m/s. A worth that is not stated is left out. */
export function worthText(value: number, uncertainty95: number, unit: string): string {
  const place = Number.isFinite(uncertainty95) ? placeOf(value, uncertainty95) : Math.min(0, placeOf(value, uncertainty95));
  const rounded = (number: number) => fixed(place > 0 ? Math.round(number / 10 ** place) * 10 ** place : number, Math.max(0, -place));
  const number = rounded(value);
  const worth = uncertainty95 > 0 ? ` ± ${rounded(uncertainty95)}` : '';
  const words = unitText(unit);
  return `${number}${worth}${words === '' ? '' : words.startsWith('°') ? words : `\u00a0${words}`}`;
}

const SHORT: Partial<Record<CardFigureName, string>> = {
  topSpeed: 'top speed',
  timeTo63: 'rest to 63 % of top speed',
  timeTo90: 'rest to 90 %',
  timeTo95: 'rest to 95 %',
  distanceTo90: 'way made to 90 %',
  coastLength: 'coasting length L',
  coastTo10: 'way coasting to a tenth',
  stopAstern: 'way to rest, full astern',
  stopAsternTime: 'time to rest, full astern',
  spinRate: 'spin on the spot',
  spinWander: 'wander of the pivot, 95 %',
  nomotoK: 'yaw response K',
  nomotoT: 'yaw response T',
  overshootFirst: 'first overshoot',
  hotelPower: 'power at rest',
  powerCoefficient: 'power a',
  powerExponent: 'power n',
  batteryEnergy: 'usable battery',
  trackMean: 'off track, mean',
  trackRms: 'off track, RMS',
  track95: 'off track, 95 %',
  settleDistance: 'way to settle after a turn',
};

/** A figure's name, short enough for a table. */
export function figureName(name: string): string {
  return SHORT[name as CardFigureName] ?? CARD_FIGURES[name as CardFigureName]?.label ?? name;
}

/** The boat's line in the day bar. */
export function boatLine(boat: BoatSummary | null): { readonly text: string; readonly done: boolean } {
  if (boat === null) return { text: 'no card', done: false };
  const { trials, hand } = boat.figures;
  if (trials > 0) return { text: `${trials} from trials`, done: true };
  return hand > 0 ? { text: `${hand} by hand`, done: true } : { text: boat.figures.default > 0 ? 'defaults' : 'empty card', done: false };
}

/** What the card is, in a sentence. */
export function cardLead(card: BoatCard): string {
  const known = Object.values(card.figures).filter((figure) => figure !== null);
  const from = (source: string) => known.filter((figure) => figure.source === source).length;
  const [trials, hand, defaults] = [from('trials'), from('hand'), from('default')];
  const parts = [trials > 0 ? `${plural(trials, 'figure')} from trials` : '', hand > 0 ? `${hand} by hand` : '', defaults > 0 ? `${defaults} defaults` : ''].filter((part) => part !== '');
  const boat = `${card.name === '' ? 'A boat' : card.name} of ${fixed(card.lengthM, 1)} m and ${fixed(card.massKg, 0)} kg`;
  return `${boat}: ${parts.length === 0 ? 'nothing is known yet' : parts.join(', ')}.${defaults > 0 && trials + hand === 0 ? ' None is measured on this boat.' : ''}`;
}

/** The trials still to be made, each with the figures it gives. */
export function trialsWanted(card: BoatCard): readonly { readonly trial: string; readonly figures: readonly string[] }[] {
  const trials = new Map<string, string[]>();
  for (const { figure, trial } of card.missing) trials.set(trial, [...(trials.get(trial) ?? []), figure]);
  return [...trials].map(([trial, figures]) => ({ trial, figures }));
}

function cell(text: string): string {
  return /[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

function number(value: number): string {
  return Number.isFinite(value) ? String(Number(value.toPrecision(6))) : '';
}

/** The card as CSV; with tabs it pastes into a table. */
export function cardCsv(card: BoatCard, separator: ',' | '\t' = ','): string {
  const rows = [['figure', 'what', 'value', 'uncertainty_95', 'unit', 'source', 'method', 'note']];
  for (const name of Object.keys(CARD_FIGURES) as CardFigureName[]) {
    const figure = card.figures[name];
    rows.push(figure === null ? [name, CARD_FIGURES[name].label, '', '', CARD_FIGURES[name].unit, 'missing', '', ''] : [name, CARD_FIGURES[name].label, number(figure.value), number(figure.uncertainty95), figure.unit, figure.source, figure.method, figure.note]);
  }
  return `${rows.map((row) => row.map((text) => (separator === ',' ? cell(text) : text.replaceAll('\t', ' '))).join(separator)).join('\n')}\n`;
}

/** The curves as CSV, units in the header, with what was asked. */
export function curvesCsv(curves: BoatCurves, question: BoatQuestion): string {
  const header = `# course ${question.courseDeg} deg true, current ${question.currentMps} m/s setting ${question.currentSetDeg} deg, ${question.reserveShare * 100} % of the battery kept\nspeed_through_water_mps,power_w,power_95_w,endurance_h,endurance_95_h,range_km,range_95_km\n`;
  const columns = [curves.speedMps, curves.powerW, curves.power95W, curves.enduranceH, curves.endurance95H, curves.rangeKm, curves.range95Km];
  return header + Array.from(curves.speedMps, (_, i) => `${columns.map((column) => number(column[i] as number)).join(',')}\n`).join('');
}
