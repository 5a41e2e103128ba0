import { CARD_FIGURES, type BoatCard, type CardFigure, type CardFigureName } from '../../boat/boat-card.js';
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
  const parts = [trials > 0 ? `${plural(trials, 'figure')} from trials` : '', hand > 0 ? `${hand} by hand` : '', defaults > 0 ? plural(defaults, 'default') : ''].filter((part) => part !== '');
  const boat = `${card.name === '' ? 'A boat' : card.name} of ${fixed(card.lengthM, 1)} m and ${fixed(card.massKg, 0)} kg`;
  return `${boat}: ${parts.length === 0 ? 'nothing is known yet' : parts.join(', ')}.${defaults > 0 && trials + hand === 0 ? ' None is measured on this boat.' : ''}`;
}

/** The trials still to be made, each with the figures it gives. */
export function trialsWanted(card: BoatCard): readonly { readonly trial: string; readonly figures: readonly string[] }[] {
  const trials = new Map<string, string[]>();
  for (const { figure, trial } of card.missing) trials.set(trial, [...(trials.get(trial) ?? []), figure]);
  return [...trials].map(([trial, figures]) => ({ trial, figures }));
}

/** Figures of a turning circle in the order they are read. */
export const TURN_ROWS = [
  { key: 'advanceM', label: 'advance' },
  { key: 'transferM', label: 'transfer' },
  { key: 'tacticalDiameterM', label: 'tactical diameter' },
  { key: 'steadyDiameterM', label: 'steady diameter' },
  { key: 'timeTo90S', label: 'time to 90°' },
  { key: 'timeTo180S', label: 'time to 180°' },
  { key: 'timeTo360S', label: 'time to 360°' },
  { key: 'speedKept', label: 'speed kept' },
] as const;

/** The card's figures by what they are about. */
export const FIGURE_GROUPS: readonly { readonly title: string; readonly names: readonly CardFigureName[] }[] = [
  { title: 'Speed and power', names: ['topSpeed', 'hotelPower', 'powerCoefficient', 'powerExponent', 'batteryEnergy'] },
  { title: 'Starting and stopping', names: ['timeTo63', 'timeTo90', 'timeTo95', 'distanceTo90', 'coastLength', 'coastTo10', 'stopAstern', 'stopAsternTime'] },
  { title: 'Turning', names: ['spinRate', 'spinWander', 'nomotoK', 'nomotoT', 'overshootFirst'] },
  { title: 'Keeping a line', names: ['trackMean', 'trackRms', 'track95', 'settleDistance'] },
];

/** A figure before and after; `weight`: how far it moved for what it is worth. */
export interface CardChange {
  readonly key: string;
  readonly label: string;
  readonly before: string;
  readonly after: string;
  readonly weight: number;
}

/** What differs between two cards, the figure that moved furthest for what it is worth first; as it is printed. */
export function cardChanges(before: BoatCard, after: BoatCard): readonly CardChange[] {
  const text = (figure: CardFigure | null | undefined) => (figure == null ? '–' : `${worthText(figure.value, figure.uncertainty95, figure.unit)}${figure.source === 'trials' ? '' : ` (${SOURCE_WORDS[figure.source]})`}`);
  const changes: CardChange[] = [];
  const tell = (key: string, label: string, one: CardFigure | null | undefined, other: CardFigure | null | undefined) => {
    if (text(one) === text(other)) return;
    const weight = one == null || other == null ? Infinity : Math.abs(other.value - one.value) / Math.max(1e-12, one.uncertainty95, other.uncertainty95) + 0.1 * Math.abs(Math.log(other.uncertainty95 / one.uncertainty95));
    changes.push({ key, label, before: text(one), after: text(other), weight: Number.isNaN(weight) ? 0 : weight });
  };
  for (const name of Object.keys(CARD_FIGURES) as CardFigureName[]) tell(name, figureName(name), before.figures[name], after.figures[name]);
  const turnKey = ({ side, atSpeedMps }: BoatCard['turning'][number]) => `${side} ${atSpeedMps.toFixed(1)}`;
  for (const turn of after.turning) {
    const was = before.turning.find((one) => turnKey(one) === turnKey(turn)) ?? before.turning.find((one) => one.side === turn.side && Math.abs(one.atSpeedMps - turn.atSpeedMps) < 0.15 * turn.atSpeedMps);
    for (const { key, label } of TURN_ROWS) tell(`${key} ${turnKey(turn)}`, `${label}, to ${turn.side} at ${fixed(turn.atSpeedMps, 1)} m/s`, was?.[key], turn[key]);
  }
  for (const was of before.turning) if (!after.turning.some((one) => one.side === was.side && Math.abs(one.atSpeedMps - was.atSpeedMps) < 0.15 * was.atSpeedMps)) tell(`tacticalDiameterM ${turnKey(was)}`, `tactical diameter, to ${was.side} at ${fixed(was.atSpeedMps, 1)} m/s`, was.tacticalDiameterM, null);
  for (const point of after.commandToSpeed) tell(`command ${point.commandPct.toFixed(0)}`, `speed at ${fixed(point.commandPct, 0)} % command`, before.commandToSpeed.find(({ commandPct }) => Math.abs(commandPct - point.commandPct) < 3), point);
  return changes.sort((a, b) => b.weight - a.weight);
}

/** The figures one trial has a part in. */
export function figuresOfTrial(card: BoatCard, id: string): readonly { readonly label: string; readonly figure: CardFigure }[] {
  const out: { label: string; figure: CardFigure }[] = [];
  const add = (label: string, figure: CardFigure | null) => {
    if (figure !== null && figure.trials.includes(id)) out.push({ label, figure });
  };
  for (const name of Object.keys(CARD_FIGURES) as CardFigureName[]) add(figureName(name), card.figures[name]);
  for (const turn of card.turning) for (const { key, label } of TURN_ROWS) add(`${label}, to ${turn.side} at ${fixed(turn.atSpeedMps, 1)} m/s`, turn[key]);
  for (const point of card.commandToSpeed) add(`speed at ${fixed(point.commandPct, 0)} % command`, point);
  for (const point of card.speedToPower) add(`power at ${fixed(point.atSpeedMps, 2)} m/s`, point);
  return out;
}

function cell(text: string): string {
  return /[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

function number(value: number): string {
  return Number.isFinite(value) ? String(Number(value.toPrecision(6))) : '';
}

/** The card as CSV; with tabs it pastes into a table. */
export function cardCsv(card: BoatCard, separator: ',' | '\t' = ','): string {
  const rows = [['figure', 'what', 'value', 'uncertainty_95', 'unit', 'source', 'method', 'note', 'trials']];
  const add = (name: string, what: string, figure: CardFigure) => rows.push([name, what, number(figure.value), number(figure.uncertainty95), figure.unit, figure.source, figure.method, figure.note, figure.trials.join(' ')]);
  for (const name of Object.keys(CARD_FIGURES) as CardFigureName[]) {
    const figure = card.figures[name];
    if (figure === null) rows.push([name, CARD_FIGURES[name].label, '', '', CARD_FIGURES[name].unit, 'missing', '', '', '']);
    else add(name, CARD_FIGURES[name].label, figure);
  }
  for (const point of card.commandToSpeed) add('commandToSpeed', `speed at ${number(point.commandPct)} % command`, point);
  for (const point of card.speedToPower) add('speedToPower', `power at ${number(point.atSpeedMps)} m/s`, point);
  for (const turn of card.turning) for (const { key, label } of TURN_ROWS) add(key, `${label}, to ${turn.side} at ${number(turn.atSpeedMps)} m/s`, turn[key]);
  return `${rows.map((row) => row.map((text) => (separator === ',' ? cell(text) : text.replaceAll('\t', ' '))).join(separator)).join('\n')}\n`;
}

/** The curves as CSV, units in the header, with what was asked. */
export function curvesCsv(curves: BoatCurves, question: BoatQuestion): string {
  const header = `# course ${question.courseDeg} deg true, current ${question.currentMps} m/s setting ${question.currentSetDeg} deg, ${question.reserveShare * 100} % of the battery kept\nspeed_through_water_mps,power_w,power_95_w,endurance_h,endurance_95_h,range_km,range_95_km\n`;
  const columns = [curves.speedMps, curves.powerW, curves.power95W, curves.enduranceH, curves.endurance95H, curves.rangeKm, curves.range95Km];
  return header + Array.from(curves.speedMps, (_, i) => `${columns.map((column) => number(column[i] as number)).join(',')}\n`).join('');
}
