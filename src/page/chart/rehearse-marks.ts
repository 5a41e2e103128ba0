import type { LegKind, Sortie, SortiePlan } from '../../lines/sortie.js';
import type { Concern, Mishap, MomentOutcomes, WorstMoment } from '../../rehearse/rehearsal.js';
import type { LinkMap, ShownRehearsal, ShownSortie } from '../work/rehearse-messages.js';

/** A stretch of a planned sortie. */
export interface LegMark {
  readonly kind: LegKind;
  readonly path: Float64Array;
}

/** A planned sortie on the chart. */
export interface SortieMark {
  readonly number: number;
  readonly legs: readonly LegMark[];
}

/** A concern that has a place. */
export interface ConcernMark {
  /** As numbered in the sheet, from 1. */
  readonly number: number;
  /** 0: said of all. */
  readonly sortie: number;
  readonly concern: Concern;
}

/** One sortie rehearsed, as it is drawn. */
export interface TrackMark {
  readonly shown: ShownSortie;
  /** Lines that will be painted, and stretches of them that will not [x0, y0, ...]. */
  readonly painted: readonly Float64Array[];
  readonly gaps: readonly Float64Array[];
}

/** All of sorties and rehearsals that the chart shows. */
export interface RehearseMarks {
  readonly stage: 'lines' | 'rehearse';
  readonly launch: readonly [number, number] | null;
  readonly base: readonly [number, number] | null;
  readonly sorties: readonly SortieMark[];
  /** Shapes that show why something cannot be, and what is said beside them. */
  readonly fault: { readonly message: string; readonly where: readonly Float64Array[] } | null;
  readonly tracks: readonly TrackMark[];
  readonly selected: number | null;
  readonly concerns: readonly ConcernMark[];
  readonly worst: WorstMoment | null;
  readonly link: LinkMap | null;
  readonly mishap: Mishap | null;
  readonly toleranceM: number;
  /** Lines, or parts of them, that no sortie runs [x0, y0, x1, y1]. */
  readonly leftOut: readonly { readonly line: number; readonly path: readonly number[] }[];
  /** Ground that the rehearsed lines will not cover. */
  readonly holes: readonly HoleMark[];
}

/** A hole that rehearsed lines will leave; rings in the frame [m]. */
export interface HoleMark {
  readonly parts: readonly Float64Array[];
  readonly areaM2: number;
}

export function holeMarks(shapes: readonly { readonly kind: string; readonly parts: readonly Float64Array[]; readonly properties: Readonly<Record<string, unknown>> }[]): HoleMark[] {
  return shapes.filter(({ kind }) => kind === 'polygon').map(({ parts, properties }) => ({ parts, areaM2: Number(properties['areaM2'] ?? NaN) }));
}

export function sortieMarks(plan: SortiePlan | null): SortieMark[] {
  return (plan?.sorties ?? []).map(({ number, legs }) => ({ number, legs: legs.map(({ kind, path }) => ({ kind, path: Float64Array.from(path) })) }));
}

/** The part of a line between two ways along it [m]. */
export function stretchOf(path: ArrayLike<number>, fromM: number, toM: number): Float64Array {
  const out: number[] = [];
  let way = 0;
  for (let i = 0; i + 3 < path.length; i += 2) {
    const [ax, ay, bx, by] = [path[i] as number, path[i + 1] as number, path[i + 2] as number, path[i + 3] as number];
    const length = Math.hypot(bx - ax, by - ay);
    const [start, end] = [Math.max(fromM, way), Math.min(toM, way + length)];
    if (length > 0 && end > start) {
      const at = (m: number): [number, number] => [ax + ((m - way) / length) * (bx - ax), ay + ((m - way) / length) * (by - ay)];
      if (out.length === 0) out.push(...at(start));
      out.push(...at(end));
    }
    way += length;
  }
  return Float64Array.from(out);
}

export function trackMarks(shown: ShownRehearsal | null, plan: SortiePlan | null): TrackMark[] {
  return (shown?.sorties ?? []).map((one) => {
    const planned: Sortie | undefined = plan?.sorties.find(({ number }) => number === one.number);
    const legOf = (line: number) => planned?.legs.find((leg) => leg.kind === 'line' && leg.line === line);
    const painted: Float64Array[] = [];
    const gaps: Float64Array[] = [];
    for (const { line, gaps: stretches } of one.lines) {
      const leg = legOf(line);
      if (leg === undefined) continue;
      painted.push(Float64Array.from(leg.path));
      for (let k = 0; k + 1 < stretches.length; k += 2) gaps.push(stretchOf(leg.path, stretches[k] as number, stretches[k + 1] as number));
    }
    return { shown: one, painted, gaps };
  });
}

/** Concerns of all sorties, those that stop them first, numbered as the sheet lists them. */
export function concernMarks(shown: ShownRehearsal | null): ConcernMark[] {
  const rank = { 'no-go': 0, condition: 1, caution: 2, note: 3 } as const;
  const sorties = shown?.sorties ?? [];
  const all = sorties.flatMap((one) => one.verdict.concerns.map((concern) => ({ sortie: one.number, concern })));
  const said = new Map<string, number>();
  for (const { concern } of all) said.set(concern.text, (said.get(concern.text) ?? 0) + 1);
  // What is said of every sortie alike is listed once.
  const ofAll = (text: string) => sorties.length > 1 && said.get(text) === sorties.length;
  return all
    .filter(({ sortie, concern }) => !ofAll(concern.text) || sortie === sorties[0]?.number)
    .map((one) => (ofAll(one.concern.text) ? { ...one, sortie: 0 } : one))
    .sort((a, b) => rank[a.concern.weight] - rank[b.concern.weight])
    .map((one, i) => ({ ...one, number: i + 1 }));
}

/** The worst of all sorties. */
export function worstOf(shown: ShownRehearsal | null): { readonly sortie: number; readonly moment: WorstMoment } | null {
  const order = ['home', 'holds', 'drifts', 'keep-out', 'aground'];
  let worst: { sortie: number; moment: WorstMoment } | null = null;
  for (const { number, moments } of shown?.sorties ?? []) {
    const moment = moments?.worst;
    if (moment != null && (worst === null || order.indexOf(moment.outcome) > order.indexOf(worst.moment.outcome))) worst = { sortie: number, moment };
  }
  return worst;
}

/** The moment of a sortie nearest to a time; null where mishaps were not worked out then. */
export function momentAt(shown: ShownRehearsal | null, timeS: number): { readonly moments: MomentOutcomes; readonly i: number } | null {
  for (const { moments } of shown?.sorties ?? []) {
    if (moments === null || moments.n === 0) continue;
    const first = moments.timeS[0] as number;
    const last = moments.timeS[moments.n - 1] as number;
    if (timeS < first - 5 || timeS > last + 15) continue;
    let low = 0;
    let high = moments.n - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if ((moments.timeS[middle] as number) <= timeS + 5) low = middle;
      else high = middle - 1;
    }
    return { moments, i: low };
  }
  return null;
}

/** The moment at which the boat is nearest to a place; NaN where none is in reach. The chosen sortie comes first where tracks lie close. */
export function nearestRehearsed(tracks: readonly TrackMark[], selected: number | null, xM: number, yM: number, reachM: number): { readonly timeS: number; readonly sortie: number } | null {
  let best: { timeS: number; sortie: number } | null = null;
  let least = reachM * reachM;
  for (const { shown } of tracks) {
    const { xM: xs, yM: ys, n, timeS } = shown.columns;
    const favour = shown.number === selected ? 0.5 : 1;
    for (let i = 0; i < n; i++) {
      const dx = (xs[i] as number) - xM;
      const dy = (ys[i] as number) - yM;
      let squared = dx * dx + dy * dy;
      let at = timeS[i] as number;
      if (i + 1 < n && shown.columns.n < 4000) {
        // Rows far apart, as a quick rehearsal has them: the nearest place between them.
        const [ux, uy] = [(xs[i + 1] as number) - (xs[i] as number), (ys[i + 1] as number) - (ys[i] as number)];
        const length = ux * ux + uy * uy;
        const share = length > 0 ? Math.max(0, Math.min(1, -(dx * ux + dy * uy) / length)) : 0;
        const [ex, ey] = [dx + share * ux, dy + share * uy];
        squared = ex * ex + ey * ey;
        at += share * ((timeS[i + 1] as number) - at);
      }
      if (squared * favour < least) {
        least = squared * favour;
        best = { timeS: at, sortie: shown.number };
      }
    }
  }
  return best;
}
