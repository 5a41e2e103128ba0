import { OUTCOMES, type Concern, type LostLinkBehaviour, type Mishap, type MomentOutcomes, type Outcome } from '../../rehearse/rehearsal.js';
import type { SortiePlan } from '../../lines/sortie.js';
import type { RehearsalSummary, SortiesSummary } from '../../survey/summary.js';
import type { ShownSortie } from '../work/rehearse-messages.js';
import { clock, duration, fixed, plural } from './figures.js';

export const LOST_LINK_WORDS: Readonly<Record<LostLinkBehaviour, string>> = {
  'carry-on': 'carries on',
  hold: 'holds its place',
  'straight-home': 'comes straight home',
  'back-along-track': 'comes back along its track',
  'safe-lane': 'comes home clear of keep-outs',
};

export const MISHAP_WORDS: Readonly<Record<Mishap, string>> = {
  'carry-on': 'Link lost, carries on',
  hold: 'Link lost, holds its place',
  'straight-home': 'Link lost, straight home',
  'back-along-track': 'Link lost, back along its track',
  'safe-lane': 'Link lost, home clear of keep-outs',
  'one-thruster': 'One thruster fails',
  'battery-less': 'Battery holds a fifth less',
};

export const OUTCOME_WORDS: Readonly<Record<Outcome, string>> = { home: 'home', holds: 'holds', drifts: 'adrift', 'keep-out': 'in a keep-out', aground: 'aground' };

/** A sentence: capital first, full stop last; times without their date and zone. */
export function sentence(text: string): string {
  const short = shortTimes(text);
  return `${short.charAt(0).toUpperCase()}${short.slice(1)}${/[.!?]$/.test(short) ? '' : '.'}`;
}

/** Times of ISO 8601 as the page prints them. */
export function shortTimes(text: string): string {
  return text.replace(/\d{4}-\d{2}-\d{2}T(\d{2}:\d{2})(?::\d{2}(?:\.\d+)?)?Z/g, '$1 UTC');
}

export const WEIGHT_WORDS: Readonly<Record<Concern['weight'], string>> = { 'no-go': 'no-go', condition: 'condition', caution: 'caution', note: 'note' };

/** Index of the row at or before a time; -1 before the first. */
export function rowAtTime(timeS: Float64Array, n: number, at: number): number {
  let low = 0;
  let high = n;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((timeS[middle] as number) <= at) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** The sortie that is under way at a time, and its nearest row; null between sorties. */
export function atTime(sorties: readonly ShownSortie[], timeS: number): { readonly sortie: ShownSortie; readonly row: number } | null {
  for (const sortie of sorties) {
    const { columns } = sortie;
    const first = columns.timeS[0] as number;
    const last = columns.timeS[columns.n - 1] as number;
    if (columns.n === 0 || timeS < first - 1e-6 || timeS > last + 1e-6) continue;
    const row = Math.max(0, rowAtTime(columns.timeS, columns.n, timeS));
    const next = Math.min(columns.n - 1, row + 1);
    return { sortie, row: Math.abs((columns.timeS[next] as number) - timeS) < Math.abs((columns.timeS[row] as number) - timeS) ? next : row };
  }
  return null;
}

const LEG_WORDS: Readonly<Record<string, string>> = { launch: 'out', transit: 'transit', 'run-in': 'run-in', line: 'line', 'run-out': 'run-out', turn: 'turn', home: 'way home' };

export function legWords(sortie: ShownSortie, row: number): string {
  const leg = sortie.legs[sortie.columns.legIndex[row] as number];
  if (leg === undefined) return '';
  const kind = LEG_WORDS[leg.kind] ?? leg.kind;
  return leg.line === null || leg.kind === 'home' ? kind : leg.kind === 'line' ? `line ${leg.line}` : `${kind} to ${leg.line}`;
}

/** The battery the rehearsal reckons with [Wh], and its 95 %. */
export function batteryOf({ totals }: ShownSortie): { readonly holdsWh: number; readonly half95Wh: number } {
  return { holdsWh: totals.energyLeftWh + totals.energyWh, half95Wh: Math.sqrt(Math.max(0, totals.energyLeft95Wh ** 2 - totals.energy95Wh ** 2)) };
}

/** What the rehearsal says of a moment, in one line. */
export function rehearsedMoment(sorties: readonly ShownSortie[], timeS: number): string {
  const at = atTime(sorties, timeS);
  if (at === null) return clock(timeS);
  const { sortie, row } = at;
  const c = sortie.columns;
  const parts = [clock(timeS), legWords(sortie, row)];
  const add = (value: number | undefined, text: (value: number) => string) => Number.isFinite(value) && parts.push(text(value as number));
  add(c.speedOverGroundMps[row], (value) => `${fixed(value, 2)} m/s`);
  add(c.headingDeg[row], (value) => `${String(Math.round(value) % 360).padStart(3, '0')}°`);
  add(batteryOf(sortie).holdsWh - (c.energyWh[row] as number), (value) => `${fixed(value, 0)} Wh left`);
  add(c.waterUnderM[row], (value) => `${fixed(value, 1)} m under`);
  add(c.linkMarginDb[row], (value) => `link ${fixed(value, 0)} dB`);
  return parts.join(' · ');
}

/** What comes of a mishap at a moment, in a few words. */
export function outcomeText(moments: MomentOutcomes, mishap: Mishap, i: number): string {
  const ends = moments.outcomes[mishap];
  const outcome = OUTCOMES[ends.outcome[i] as number] as Outcome;
  const after = duration((ends.timeS[i] as number) - (moments.timeS[i] as number));
  const left = `${fixed(Math.max(0, ends.energyLeftWh[i] as number), 0)} Wh left`;
  const empty = (ends.energyLeftWh[i] as number) <= 0;
  const what: Record<Outcome, string> = {
    home: `home in ${after}, ${left}`,
    holds: `still holds ${after} later, ${left}`,
    drifts: `adrift after ${after}${empty ? ', battery empty' : ''}`,
    'keep-out': `in a keep-out after ${after}`,
    aground: `aground after ${after}`,
  };
  return what[outcome];
}

/** Moments that end other than at home or holding, and the worst that they end in. */
export function badMoments(moments: MomentOutcomes, mishap: Mishap): { readonly bad: number; readonly worst: Outcome; readonly counts: readonly number[] } {
  const counts = OUTCOMES.map(() => 0);
  for (const outcome of moments.outcomes[mishap].outcome) counts[outcome] = (counts[outcome] ?? 0) + 1;
  let worst = 0;
  counts.forEach((count, k) => {
    if (count > 0) worst = k;
  });
  return { bad: counts.slice(2).reduce((sum, count) => sum + count, 0), worst: OUTCOMES[worst] as Outcome, counts };
}

/** How the Rehearse stage stands, in a few words. */
export function rehearseLine(sorties: SortiesSummary | null, rehearsed: RehearsalSummary | null, state: { readonly hasLines: boolean; readonly hasLaunch: boolean; readonly hasStart: boolean; readonly stale: boolean }): { readonly text: string; readonly done: boolean; readonly press: boolean } {
  if (!state.hasLines) return { text: '–', done: false, press: false };
  if (!state.hasLaunch) return { text: 'no launch point', done: false, press: true };
  if (sorties?.fault != null) return { text: 'no sorties', done: false, press: true };
  if (!state.hasStart) return { text: 'no start', done: false, press: true };
  if (rehearsed === null || sorties === null) return { text: 'to rehearse', done: false, press: true };
  const took = duration(rehearsed.endS - rehearsed.startS);
  if (state.stale) return { text: 'to rehearse again', done: true, press: true };
  if (sorties.go === false) return { text: 'no-go', done: true, press: true };
  if (rehearsed.word === 'GO WITH CONDITIONS') return { text: 'go, on conditions', done: true, press: true };
  return rehearsed.go ? { text: `go, ${took}`, done: true, press: false } : { text: 'no-go', done: true, press: true };
}

/** Time and energy of planned sorties, each with its 95 %: the boat's own figures are behind all alike, so errors add up. */
export function sortiesTotals({ sorties }: SortiePlan): { readonly lengthM: number; readonly timeS: number; readonly time95S: number; readonly energyWh: number; readonly energy95Wh: number; readonly turns: number } {
  const sum = (of: (sortie: SortiePlan['sorties'][number]) => number) => sorties.reduce((all, sortie) => all + of(sortie), 0);
  return { lengthM: sum((one) => one.lengthM), timeS: sum((one) => one.timeS), time95S: sum((one) => one.time95S), energyWh: sum((one) => one.energyWh), energy95Wh: sum((one) => one.energy95Wh), turns: sum((one) => Math.max(0, one.lines.length - 1)) };
}

/** `2 h 12 ± 3 min`. */
export function withHalf(seconds: number, half95S: number): string {
  return Number.isFinite(half95S) ? `${duration(seconds)} ± ${duration(half95S)}` : duration(seconds);
}

export function sortieWords(n: number): string {
  return plural(n, 'sortie');
}

const SETTING_NAMES: Readonly<Record<string, string>> = {
  'sortie.launch': 'launch point',
  'sortie.base': 'base of the link',
  'sortie.startUtc': 'start',
  'sortie.batteryShare': 'battery there is',
  'sortie.reserveShare': 'reserve',
  'rehearse.lostLink': 'what the boat does on a lost link',
  'rehearse.linkLostIsNoGo': 'a lost link as a no-go',
  'rehearse.turning': 'turning',
  'rehearse.wind': 'wind',
  'rehearse.leewayShare': 'leeway',
  'rehearse.leastWaterM': 'least water',
  'rehearse.leastSunDeg': 'least sun',
  'water.current': 'current',
  'brief.utcOffsetH': 'local time',
  'surface.statistic': 'depth of a cell',
  'surface.hypothesis': 'which depth is drawn',
  'surface.fill': 'filling between soundings',
  'surface.cellM': 'cell of the surface',
  'surface.fillDistanceM': 'distance filled',
  'surface.tension': 'tension of the spline',
};

/** Corrections that are switched, by their setting. */
const SWITCHED: Readonly<Record<string, string>> = {
  'corrections.clock': 'clock offset',
  'corrections.latency': 'latency',
  'corrections.leverArms': 'lever arms',
  'corrections.beamTilt': 'beam off the vertical',
  'corrections.heave': 'heave',
  'corrections.draft': 'draft at rest',
  'corrections.squat': 'squat',
  'corrections.soundSpeed': 'sound speed',
  'corrections.waterLevel': 'water level',
  'sounder.slopeCorrection': 'slope under the beam',
};

/** A change of a setting of sorties, rehearsal, surface or corrections, in a few words; null for other settings. */
export function settingWords(path: string, from: unknown, to: unknown): string | null {
  const switched = SWITCHED[path];
  if (switched !== undefined) return `${switched} ${to === true ? 'applied' : 'left out'}`;
  const name = SETTING_NAMES[path];
  if (name === undefined) return null;
  const plain = (value: unknown): string | null => {
    if (path === 'sortie.startUtc' && typeof value === 'string') return value.slice(0, 16).replace('T', ' ');
    if (/Share$/.test(path) && typeof value === 'number') return `${fixed(100 * value, 0)} %`;
    return typeof value === 'number' || typeof value === 'string' ? String(value) : null;
  };
  if (to === null) return `${name} taken away`;
  if (from === null) return `${name} set`;
  const [before, after] = [plain(from), plain(to)];
  return before === null || after === null ? `${name} ${path === 'sortie.launch' || path === 'sortie.base' ? 'moved' : 'changed'}` : `${name} from ${before} to ${after}`;
}
