import { sunTimes } from '../water/sun.js';
import { tideTurns } from '../water/tide-window-turns.js';
import type { SheetClock } from './field-sheet-clock.js';
import type { FieldSheetInput, FieldSheetSortie } from './field-sheet-input.js';
import { formatCounted, formatNumber, NO_VALUE } from './figures.js';
import { REHEARSAL_DEFAULTS } from '../rehearse/rehearsal.js';
import type { RehearsalOptions, TurnBack } from '../rehearse/rehearsal.js';

/** A key figure of the sheet: large, what it is above it, what qualifies it below. */
export interface KeyFigure {
  readonly label: string;
  readonly value: string;
  readonly note: string;
}

/** A sortie in the table of page one. */
export interface SortieRow {
  readonly number: string;
  readonly verdict: 'GO' | 'GO, IF' | 'NO-GO';
  readonly launch: KeyFigure;
  readonly window: KeyFigure;
  readonly turnBack: KeyFigure;
  readonly back: KeyFigure;
  readonly lines: KeyFigure;
  readonly battery: KeyFigure;
}

/** What sets the last time to turn back, in a word or two. */
const LIMIT_WORDS: Readonly<Record<TurnBack['limit'], string>> = { battery: 'battery', daylight: 'daylight', tide: 'tide', 'tide table': 'tide table', 'current table': 'current file', 'way home': 'no way home' };

/** The options a rehearsal went by, defaults put in. */
export function rehearsedWith(input: FieldSheetInput): RehearsalOptions {
  return { ...REHEARSAL_DEFAULTS, ...input.options };
}

/** What the battery holds on the day [Wh]. */
export function batteryHoldsWh(input: FieldSheetInput): number {
  return input.boat.batteryWh * rehearsedWith(input).batteryShare;
}

/** First start and last end of the day [UTC s]. */
export function daySpan(input: FieldSheetInput): readonly [number, number] {
  const totals = input.sorties.map(({ rehearsal }) => rehearsal.totals);
  return [Math.min(...totals.map(({ startS }) => startS)), Math.max(...totals.map(({ startS, endS }) => Math.max(startS, endS)))];
}

/** When a sortie is back: its end and the 95 % of its time; NaN where it does not get home. */
export function backByS({ rehearsal }: FieldSheetSortie): number {
  const { endS, time95S } = rehearsal.totals;
  return rehearsal.stopped === null ? endS + (Number.isFinite(time95S) ? time95S : 0) : NaN;
}

/** One row of page one's table. */
export function sortieRow(input: FieldSheetInput, one: FieldSheetSortie, clock: SheetClock): SortieRow {
  const { sortie, rehearsal, moments, windows } = one;
  const { totals, verdict, stopped } = rehearsal;
  const utc = (timeS: number, rounding: 'nearest' | 'up' | 'down'): string => (clock.isUtc || !Number.isFinite(timeS) ? '' : `${clock.utc(timeS, rounding)} UTC`);
  const window = windows.find((each) => each.go && each.fromS <= totals.startS && totals.startS <= each.toS);
  const turnBackS = moments?.turnBackByS ?? NaN;
  const backS = backByS(one);
  const holdsWh = batteryHoldsWh(input);
  const left = (100 * totals.energyLeftWh) / holdsWh;
  return {
    number: String(sortie.number),
    verdict: !verdict.go ? 'NO-GO' : verdict.concerns[0]?.weight === 'condition' ? 'GO, IF' : 'GO',
    launch: { label: '', value: clock.local(totals.startS), note: utc(totals.startS, 'nearest') },
    window:
      window === undefined
        ? { label: '', value: NO_VALUE, note: windows.length === 0 ? (verdict.go ? 'not searched' : 'not at this start') : 'no go at this start' }
        : { label: '', value: `${clock.local(window.fromS, 'up')} – ${clock.local(window.toS, 'down')}`, note: clock.isUtc ? '' : `${clock.utc(window.fromS, 'up')} – ${clock.utc(window.toS, 'down')} UTC` },
    turnBack: { label: '', value: clock.local(turnBackS, 'down'), note: Number.isFinite(turnBackS) ? [utc(turnBackS, 'down'), LIMIT_WORDS[moments!.turnBack!.limit]].filter((part) => part !== '').join(', ') : moments === null ? 'not worked out' : 'at no moment' },
    back: { label: '', value: clock.local(backS, 'up'), note: stopped === null ? utc(backS, 'up') : 'does not get home' },
    lines: { label: '', value: inRanges(sortie.lines), note: `${formatCounted(sortie.lines.length, 'line')}, ${formatNumber(sortie.lengthM / 1000, 1)} km` },
    battery: {
      label: '',
      value: stopped !== null ? NO_VALUE : `${formatNumber(left)} %`,
      note: stopped !== null ? '' : `±${formatNumber((100 * totals.energyLeft95Wh) / holdsWh)}; home ${chanceInWords(verdict.chanceHome)}`,
    },
  };
}

/** Key figures of the day: tide, sun, batteries. */
export function dayFigures(input: FieldSheetInput, clock: SheetClock): KeyFigure[] {
  const [startS, endS] = daySpan(input);
  const utc = (timeS: number): string => (clock.isUtc ? '' : `${clock.utc(timeS)} UTC`);
  const figures: KeyFigure[] = [];
  if (input.level !== null) {
    const turns = tideTurns(input.level, startS - 7 * 3600, endS + 7 * 3600);
    /* The turn before the first launch, those while the boat is out, and the one after: three at most, the nearest to the day. */
    const middle = (startS + endS) / 2;
    const near = [...turns].sort((a, b) => Math.abs(a.timeS - middle) - Math.abs(b.timeS - middle)).slice(0, 3).sort((a, b) => a.timeS - b.timeS);
    for (const turn of near) {
      const note = [`${formatNumber(turn.levelM, 1)} m`, utc(turn.timeS)].filter((part) => part !== '').join(' · ');
      figures.push({ label: turn.kind === 'high' ? 'High water' : 'Low water', value: clock.local(turn.timeS), note });
    }
    if (near.length === 0) figures.push({ label: 'High, low water', value: NO_VALUE, note: 'no turn known' });
  } else figures.push({ label: 'High, low water', value: NO_VALUE, note: 'no tide was given' });
  const [latDeg, lonDeg] = input.frame.toGeographic(input.launch.xM, input.launch.yM);
  const sun = sunTimes((startS + endS) / 2, latDeg, lonDeg);
  if (sun.allDay !== null) figures.push({ label: 'Sun', value: sun.allDay, note: 'all day' });
  else {
    /* Where a sortie begins before sunrise the rise matters too; most days it is long past. */
    if (startS < sun.sunriseS + 3600) figures.push({ label: 'Sunrise', value: clock.local(sun.sunriseS, 'up'), note: utc(sun.sunriseS) });
    figures.push({ label: 'Sunset', value: clock.local(sun.sunsetS, 'down'), note: utc(sun.sunsetS) });
  }
  figures.push({ label: 'Civil twilight ends', value: clock.local(sun.duskS, 'down'), note: Number.isFinite(sun.duskS) ? utc(sun.duskS) : 'not that day' });
  const count = input.sorties.length;
  figures.push({ label: 'Batteries', value: String(count), note: count === 1 ? 'charged, no swap' : count <= 3 ? `swap ${input.sorties.slice(0, -1).map(({ rehearsal }) => clock.local(rehearsal.totals.endS)).join(', ')}` : `charged; ${formatCounted(count - 1, 'swap')}` });
  return figures;
}

/** `1–4, 7, 9–12`, in rising order; lines are listed as run overleaf. */
export function inRanges(numbers: readonly number[]): string {
  const sorted = [...new Set(numbers)].sort((a, b) => a - b);
  const parts: string[] = [];
  for (let i = 0; i < sorted.length; ) {
    let end = i;
    while (end + 1 < sorted.length && sorted[end + 1] === (sorted[end] as number) + 1) end++;
    parts.push(end === i ? String(sorted[i]) : end === i + 1 ? `${sorted[i]}, ${sorted[end]}` : `${sorted[i]}–${sorted[end]}`);
    i = end + 1;
  }
  return parts.length === 0 ? NO_VALUE : parts.join(', ');
}

function chanceInWords(chance: number): string {
  if (!Number.isFinite(chance)) return NO_VALUE;
  return chance > 0.999 ? 'over 99.9 %' : chance < 0.001 ? 'under 0.1 %' : `${formatNumber(100 * chance, 1)} %`;
}
