import { formatUtc } from '../base/time.js';
import { spanText } from './moment-words.js';
import { rehearseFully } from './rehearse-fully.js';
import { rehearseSortie } from './rehearse-sortie.js';
import { checkedOptions } from './rehearsal-options.js';
import type { ConcernKind, Rehearsal } from './rehearsal.js';
import type { BestStart, StartLimit, StartMargin, StartSearch, StartWindow } from './start-search.js';

/** Windows' edges are closed in on to this [s]. */
const EDGE_S = 60;
/** An hour to either side is room enough: of starts that have it the cheap ones are preferred (common practice). */
const PLENTY_S = 3600;
/** Starts that cost no more than this share of the usable battery above the cheapest count as cheap. */
const CHEAP_SHARE = 0.02;
/** So many of the best are rehearsed in full before it is given up. */
const MOST_FULL = 8;
/** Where no start of the span is a go it is looked on after it for so long [s]. */
const LOOK_ON_S = 48 * 3600;
const MOST_STARTS = 20_000;

interface Start {
  readonly startS: number;
  readonly go: boolean;
  readonly kind: ConcernKind | null;
  readonly reason: string;
  /** Every kind of no-go, with its words. */
  readonly bars: readonly { readonly kind: ConcernKind; readonly text: string }[];
  /** Energy with its 95 % [Wh]; infinite for a no-go. */
  readonly costWh: number;
}

/** A go window with its edges to the minute, and what stands beyond them. */
interface Room {
  readonly fromS: number;
  readonly toS: number;
  /** Why it does not go before and after; null: the span looked at ends there. */
  readonly before: string | null;
  readonly after: string | null;
}

/**
 * The best start in a span for sorties run one after the other, the battery changed between them.
 *
 * Quick rehearsals every `stepS` tell the windows, each with its reason; the edges of those that are a go are closed in on to the
 * minute. A start's room is the time to the nearer edge of its window. Of the starts with an hour's room (or, where none has it,
 * the widest there is) those that cost within 2 % of the usable battery of the cheapest count; of these the one with the most room
 * is taken, so that among equal starts it is the middle of the widest window and not the edge of daylight. It is rehearsed in full,
 * with what comes of a lost link, and passed over where that is not a go.
 *
 * Where none is a go, each kind of reason is told with the spans it bars and what it alone would allow, and it is looked on for
 * two days after the span.
 *
 * A generator, so that a page can draw and stop between looks; `bestStart` runs it through.
 *
 * @throws RangeError for a span that ends before it begins, a step that is not positive, no sortie, or more than 20 000 starts
 */
export function* lookForStart(search: StartSearch): Generator<{ readonly done: number; readonly detail: string }, BestStart> {
  const { fromS, toS, stepS, sorties } = search;
  if (!(toS >= fromS)) throw new RangeError(`toS ${toS}: expected ${fromS} or later`);
  if (!(stepS > 0)) throw new RangeError(`stepS ${stepS}: expected more than 0`);
  if (sorties.length === 0) throw new RangeError('sorties: expected one or more');
  const n = Math.floor((toS - fromS) / stepS + 1e-9) + 1;
  if (n > MOST_STARTS) throw new RangeError(`stepS ${stepS}: ${n} starts, ${MOST_STARTS} at most; choose a longer step or a shorter span`);

  const starts: Start[] = [];
  for (let i = 0; i < n; i++) {
    starts.push(quickLook(search, fromS + i * stepS));
    yield { done: (0.9 * (i + 1)) / n, detail: `${i + 1} of ${n} starts` };
  }
  const windows = windowsOf(starts);
  const goes = starts.filter(({ go }) => go);
  const limits = limitsOf(starts);
  if (goes.length === 0) {
    const nextS = limits.some(({ kind, allows }) => kind === 'battery' && allows.length === 0) ? NaN : yield* lookOn(search);
    return { startS: null, rehearsals: [], windows, limits, margin: null, nextS, why: `no start from ${formatUtc(fromS)} to ${formatUtc(toS)} is a go` };
  }

  const rooms = windows.flatMap((window, k): Room[] => (window.go ? [roomOf(search, window, windows[k - 1], windows[k + 1])] : []));
  const roomAt = (startS: number): Room => rooms.find((room) => startS >= room.fromS - 1e-6 && startS <= room.toS + 1e-6)!;
  const widthAt = (startS: number): number => Math.min(startS - roomAt(startS).fromS, roomAt(startS).toS - startS);
  const middles = rooms.map((room) => Math.round((room.fromS + room.toS) / 2 / 60) * 60).filter((startS) => startS >= fromS && startS <= toS && rooms.some((room) => startS >= room.fromS && startS <= room.toS));
  const known = new Map(goes.map((start) => [start.startS, start]));
  for (const startS of middles) if (!known.has(startS)) known.set(startS, quickLook(search, startS));
  const all = [...known.values()].filter(({ go }) => go);

  const wide = Math.min(PLENTY_S, Math.max(...all.map(({ startS }) => widthAt(startS))));
  const roomy = all.filter(({ startS }) => widthAt(startS) >= wide - EDGE_S);
  const least = Math.min(...roomy.map(({ costWh }) => costWh));
  const cheapWh = CHEAP_SHARE * usableWh(search) * sorties.length;
  const byRoom = (a: Start, b: Start): number => Math.round(widthAt(b.startS) / EDGE_S) - Math.round(widthAt(a.startS) / EDGE_S) || a.startS - b.startS;
  const cheap = roomy.filter(({ costWh }) => costWh <= least + cheapWh).sort(byRoom);
  const rest = all.filter((start) => !cheap.includes(start)).sort(byRoom);

  const failed: { readonly startS: number; readonly reason: string }[] = [];
  for (const candidate of [...cheap, ...rest]) {
    if (failed.length >= MOST_FULL) break;
    // What stops one start in full stops its neighbours too.
    if (failed.some(({ startS }) => Math.abs(startS - candidate.startS) < 2 * stepS)) continue;
    yield { done: 0.95, detail: 'rehearsing the best in full' };
    const full = fullLook(search, candidate.startS);
    if ('reason' in full) {
      failed.push({ startS: candidate.startS, reason: full.reason });
      continue;
    }
    const margin = marginOf(search, candidate, full.rehearsals, roomAt(candidate.startS), all);
    return { startS: candidate.startS, rehearsals: full.rehearsals, windows, limits, margin, nextS: NaN, why: `${formatUtc(candidate.startS)}: ${marginText(margin, goes.length, n)}` };
  }
  const first = failed[0]!;
  return { startS: null, rehearsals: [], windows, limits, margin: null, nextS: NaN, why: `the starts that looked possible in the quick look are not when rehearsed in full; at ${formatUtc(first.startS)}: ${first.reason}` };
}

/**
 * The window of starts about one that is a go: how much earlier and later it would still go, to the minute, and why not beyond;
 * looked at as far as `fromS` and `toS`. Null where the start itself is not a go by a quick look.
 */
export function windowAbout(search: StartSearch, startS: number): StartWindow | null {
  const { fromS, toS, stepS } = search;
  if (!quickLook(search, startS).go) return null;
  const walk = (way: 1 | -1): { readonly goS: number; readonly barred: StartWindow | undefined } => {
    let goS = startS;
    for (let at = startS + way * stepS; at >= fromS && at <= toS; at += way * stepS) {
      const { go, kind, reason } = quickLook(search, at);
      if (!go) return { goS, barred: { fromS: at, toS: at, go, kind, reason } };
      goS = at;
    }
    return { goS, barred: undefined };
  };
  const [early, late] = [walk(-1), walk(1)];
  const room = roomOf(search, { fromS: early.goS, toS: late.goS, go: true, kind: null, reason: '' }, early.barred, late.barred);
  return { fromS: room.fromS, toS: room.toS, go: true, kind: null, reason: '' };
}

/** `lookForStart` run through. */
export function bestStart(search: StartSearch, progress?: (done: number) => void): BestStart {
  const look = lookForStart(search);
  for (;;) {
    const step = look.next();
    if (step.done === true) return step.value;
    progress?.(step.value.done);
  }
}

function quickLook({ common, sorties, swapS }: StartSearch, startS: number): Start {
  let leavesS = startS;
  let costWh = 0;
  for (const sortie of sorties) {
    const { verdict, totals } = rehearseSortie({ ...common, sortie, startS: leavesS, effort: 'quick' });
    if (!verdict.go) {
      const bars = verdict.concerns.filter(({ weight }) => weight === 'no-go').map(({ kind, text }) => ({ kind, text }));
      return { startS, go: false, kind: bars[0]!.kind, reason: sorties.length > 1 ? `sortie ${sortie.number}: ${verdict.reason}` : verdict.reason, bars, costWh: Infinity };
    }
    costWh += totals.energyWh + totals.energy95Wh;
    leavesS = totals.endS + swapS;
  }
  return { startS, go: true, kind: null, reason: '', bars: [], costWh };
}

function fullLook({ common, sorties, swapS, clearanceM }: StartSearch, startS: number): { readonly rehearsals: readonly Rehearsal[] } | { readonly reason: string } {
  let leavesS = startS;
  const rehearsals: Rehearsal[] = [];
  for (const sortie of sorties) {
    const { rehearsal } = rehearseFully({ ...common, sortie, startS: leavesS }, clearanceM === undefined ? {} : { clearanceM });
    if (!rehearsal.verdict.go) return { reason: sorties.length > 1 ? `sortie ${sortie.number}: ${rehearsal.verdict.reason}` : rehearsal.verdict.reason };
    rehearsals.push(rehearsal);
    leavesS = rehearsal.totals.endS + swapS;
  }
  return { rehearsals };
}

/** The first start after the span that looks like a go; NaN where there is none in two days, or nothing is known of the water any more. */
function* lookOn(search: StartSearch): Generator<{ readonly done: number; readonly detail: string }, number> {
  const { toS, stepS } = search;
  for (let startS = toS + stepS; startS <= toS + LOOK_ON_S; startS += stepS) {
    const start = quickLook(search, startS);
    if (start.go) return startS;
    if (start.kind === 'data') return NaN;
    yield { done: 0.9 + (0.1 * (startS - toS)) / LOOK_ON_S, detail: 'looking on after the span' };
  }
  return NaN;
}

/** Starts next to each other with the same kind of verdict; the reason is that of the first. */
function windowsOf(starts: readonly Start[]): StartWindow[] {
  const windows: StartWindow[] = [];
  for (const { startS, go, kind, reason } of starts) {
    const last = windows[windows.length - 1];
    if (last !== undefined && last.go === go && last.kind === kind) windows[windows.length - 1] = { ...last, toS: startS };
    else windows.push({ fromS: startS, toS: startS, go, kind, reason });
  }
  return windows;
}

function roomOf(search: StartSearch, window: StartWindow, before: StartWindow | undefined, after: StartWindow | undefined): Room {
  const edge = (goS: number, otherS: number): readonly [number, string] => {
    let [good, bad] = [goS, otherS];
    let reason = '';
    while (Math.abs(bad - good) > EDGE_S) {
      const middle = (good + bad) / 2;
      const look = quickLook(search, middle);
      if (look.go) good = middle;
      else [bad, reason] = [middle, look.reason];
    }
    return [good, reason];
  };
  const [fromS, early] = before === undefined ? [window.fromS, null] : edge(window.fromS, before.toS);
  const [toS, late] = after === undefined ? [window.toS, null] : edge(window.toS, after.fromS);
  return { fromS, toS, before: before === undefined ? null : early === '' ? before.reason : early, after: after === undefined ? null : late === '' ? after.reason : late };
}

/** For each kind of no-go the spans of starts it bars, and those that it alone would allow. */
function limitsOf(starts: readonly Start[]): StartLimit[] {
  const kinds = [...new Set(starts.flatMap(({ bars }) => bars.map(({ kind }) => kind)))];
  return kinds.map((kind) => {
    const barsIt = ({ bars }: Start): boolean => bars.some((each) => each.kind === kind);
    const spans = (wanted: boolean): { fromS: number; toS: number }[] => {
      const found: { fromS: number; toS: number }[] = [];
      starts.forEach((start, i) => {
        if (barsIt(start) !== wanted) return;
        const last = found[found.length - 1];
        if (last !== undefined && i > 0 && last.toS === starts[i - 1]!.startS) last.toS = start.startS;
        else found.push({ fromS: start.startS, toS: start.startS });
      });
      return found;
    };
    return { kind, bars: spans(true), allows: spans(false), text: starts.find(barsIt)!.bars.find((each) => each.kind === kind)!.text };
  });
}

function usableWh({ common }: StartSearch): number {
  const { reserveShare, batteryShare } = checkedOptions({ ...common, startS: 0 });
  return (1 - reserveShare) * batteryShare * common.boat.batteryWh;
}

function marginOf(search: StartSearch, start: Start, rehearsals: readonly Rehearsal[], room: Room, goes: readonly Start[]): StartMargin {
  const options = checkedOptions({ ...search.common, startS: 0 });
  const least = (of: (rehearsal: Rehearsal) => number): number => rehearsals.reduce((found, rehearsal) => (found <= of(rehearsal) ? found : of(rehearsal)), NaN);
  return {
    earlierS: start.startS - room.fromS,
    laterS: room.toS - start.startS,
    before: room.before,
    after: room.after,
    aboveReserveWh: least(({ totals }) => usableWh(search) - totals.energyWh - totals.energy95Wh),
    waterM: least(({ totals }) => totals.leastWaterM - options.leastWaterM),
    sunDeg: least(({ totals }) => totals.leastSunDeg - options.leastSunDeg),
    energyWh: rehearsals.reduce((sum, { totals }) => sum + totals.energyWh, 0),
    timeS: rehearsals[rehearsals.length - 1]!.totals.endS - start.startS,
    aboveCheapestWh: start.costWh - Math.min(...goes.map(({ costWh }) => costWh)),
  };
}

/** The margin in words: time to either side with what stands there, then energy, water and sun. */
function marginText({ earlierS, laterS, before, after, aboveReserveWh, waterM, sunDeg, energyWh, timeS, aboveCheapestWh }: StartMargin, goes: number, looked: number): string {
  const side = (seconds: number, way: 'earlier' | 'later', what: string | null): string => (what === null ? `${spanText(seconds)} ${way} at least (no further was looked)` : `${spanText(seconds)} ${way} (then: ${what})`);
  const parts = [
    `it could leave ${side(earlierS, 'earlier', before)}, or ${side(laterS, 'later', after)}`,
    `${aboveReserveWh.toFixed(0)} Wh above the reserve with the 95 % taken off`,
    ...(Number.isFinite(waterM) ? [`${waterM.toFixed(1)} m more water than is wanted`] : []),
    ...(Number.isFinite(sunDeg) ? [`the sun ${sunDeg.toFixed(0)} deg higher than is wanted`] : []),
    `${energyWh.toFixed(0)} Wh and ${spanText(timeS)} in all${aboveCheapestWh >= 1 ? `, ${aboveCheapestWh.toFixed(0)} Wh more than the cheapest start` : ''}`,
    `${goes} of ${looked} starts looked at are a go`,
  ];
  return parts.join('; ');
}
