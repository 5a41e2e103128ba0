import type { Trial, TrialKind } from '../../boat/trial-log.js';
import { clock, fixed } from './figures.js';

/** What a kind of trial is called, short and long. */
export const KIND_WORDS: Readonly<Record<TrialKind, { readonly short: string; readonly long: string; readonly many: string }>> = {
  'steady-run': { short: 'run', long: 'steady run', many: 'steady runs' },
  'standing-start': { short: 'start', long: 'standing start', many: 'standing starts' },
  'coast-down': { short: 'coast', long: 'coast-down', many: 'coast-downs' },
  'stop-astern': { short: 'stop', long: 'stop, full astern', many: 'stops, full astern' },
  'turning-circle': { short: 'circle', long: 'turning circle', many: 'turning circles' },
  spin: { short: 'spin', long: 'spin on the spot', many: 'spins on the spot' },
  'zig-zag': { short: 'zig-zag', long: 'zig-zag', many: 'zig-zags' },
  'straight-leg': { short: 'leg', long: 'straight leg', many: 'straight legs' },
};

/** In the order of the list. */
export const KIND_ORDER: readonly TrialKind[] = ['steady-run', 'standing-start', 'coast-down', 'stop-astern', 'turning-circle', 'spin', 'zig-zag', 'straight-leg'];

/** Numbers of the trials of a list, counted once a list: a day of trials is labelled many times over. */
const numbersOf = new WeakMap<object, { readonly byId: ReadonlyMap<string, number>; readonly count: ReadonlyMap<TrialKind, number> }>();

/** Which of its kind a trial is, counted in order of time from 1; one more than there are where it is not among them. */
export function trialNumber(trial: Pick<Trial, 'id' | 'kind'>, trials: readonly Pick<Trial, 'id' | 'kind'>[]): number {
  let numbers = numbersOf.get(trials);
  if (numbers === undefined) {
    const byId = new Map<string, number>();
    const count = new Map<TrialKind, number>();
    for (const { id, kind } of trials) {
      const number = (count.get(kind) ?? 0) + 1;
      count.set(kind, number);
      byId.set(id, number);
    }
    numbers = { byId, count };
    numbersOf.set(trials, numbers);
  }
  return numbers.byId.get(trial.id) ?? (numbers.count.get(trial.kind) ?? 0) + 1;
}

/** A trial by name, e.g. `Turning circle 2`. */
export function trialName(trial: Pick<Trial, 'id' | 'kind'>, trials: readonly Pick<Trial, 'id' | 'kind'>[]): string {
  const { long } = KIND_WORDS[trial.kind];
  return `${long.charAt(0).toUpperCase()}${long.slice(1)} ${trialNumber(trial, trials)}`;
}

/** A trial as a short label on chart and strip, e.g. `circle 2`. */
export function trialLabel(trial: Pick<Trial, 'id' | 'kind'>, trials: readonly Pick<Trial, 'id' | 'kind'>[]): string {
  return `${KIND_WORDS[trial.kind].short} ${trialNumber(trial, trials)}`;
}

/** Ids in a text of the card, told by name. */
export function withNames(text: string, trials: readonly Trial[]): string {
  return text.replace(/[a-z]+(?:-[a-z]+)*@-?\d+/g, (id) => {
    const trial = trials.find((one) => one.id === id);
    return trial === undefined ? id : trialName(trial, trials).toLowerCase();
  });
}

/** The window of a trial, e.g. `10:03:21.4 to 10:03:58.0, 37 s`. */
export function windowText({ startS, endS }: { readonly startS: number; readonly endS: number }): string {
  return `${clockTenths(startS)} to ${clockTenths(endS)}, ${fixed(endS - startS, 1)} s`;
}

/** Time of day UTC to a tenth of a second, e.g. 10:27:41.3. */
export function clockTenths(timeS: number): string {
  if (!Number.isFinite(timeS)) return clock(timeS);
  const tenths = Math.round(timeS * 10);
  return `${clock(Math.floor(tenths / 10))}.${tenths - 10 * Math.floor(tenths / 10)}`;
}

/**
 * A time of day as typed, on the day nearest to a time.
 * @returns NaN where it is not hh:mm:ss, with tenths or without
 */
export function timeFromClock(text: string, nearS: number): number {
  const found = /^\s*(\d{1,2}):(\d{2}):(\d{2}(?:[.,]\d{1,3})?)\s*$/.exec(text);
  if (found === null) return NaN;
  const [hours, minutes, seconds] = [Number(found[1]), Number(found[2]), Number((found[3] as string).replace(',', '.'))];
  if (hours > 23 || minutes > 59 || seconds >= 60) return NaN;
  const ofDay = hours * 3600 + minutes * 60 + seconds;
  const day = Math.round((nearS - ofDay) / 86_400);
  return day * 86_400 + ofDay;
}

/** What one trial was, in a few words: speed and course of straight ones, side where it turned. */
export function trialFacts(trial: Trial): string {
  const parts: string[] = [];
  if (trial.kind === 'spin') parts.push('on the spot');
  else if (Number.isFinite(trial.speedMps)) parts.push(`${fixed(trial.speedMps, 2)} m/s`);
  if (Number.isFinite(trial.courseDeg)) parts.push(`${fixed(trial.courseDeg, 0)}°`);
  if (Number.isFinite(trial.commandPct) && trial.kind !== 'spin') parts.push(`${fixed(trial.commandPct, 0)} %`);
  return parts.join(' · ');
}
