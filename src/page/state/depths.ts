import { flaggedStretches, stretchFrom, type FlaggedStretch } from '../select/flagged-stretches.js';
import { runsOf, runAt, type Run } from '../select/runs.js';
import type { ColourBy, FlaggedShown } from '../points/point-colours.js';
import { createStore } from './store.js';
import { hover, survey } from './stores.js';

/** Parts of the Depths sheet. */
export const DEPTHS_PARTS = ['overview', 'instruments', 'clean', 'correct', 'check', 'surface'] as const;
export type DepthsPart = (typeof DEPTHS_PARTS)[number];

/** What the strip below shows at the Depths stage. */
export type DepthsStrip = 'time' | 'profile' | 'corrections';

/** A stretch of soundings under the eye: rows of the first and after the last. */
export interface Stretch {
  readonly rowStart: number;
  readonly rowEnd: number;
}

/** State of the Depths stage on this screen. */
export interface DepthsState {
  readonly part: DepthsPart;
  readonly strip: DepthsStrip;
  readonly points: boolean;
  readonly colourBy: ColourBy;
  readonly flagged: FlaggedShown;
  /** Radius of the brush [px]. */
  readonly brushPx: number;
  /** The run in the profile; null: none chosen. */
  readonly run: Run | null;
  /** What of the run is looked at closely; counts up so that the same stretch can be asked for again. */
  readonly look: { readonly stretch: Stretch; readonly asked: number } | null;
  readonly byDistance: boolean;
  /** Soundings of other runs no further from the run than this are shown with it [m]. */
  readonly neighboursM: number;
  /** Code of the reason one goes through; null: any. */
  readonly onlyReason: number | null;
  /** Curves of the corrections that are not shown, by column. */
  readonly hiddenCurves: readonly string[];
  /** Crossing that was gone to, -1 for none. */
  readonly crossing: number;
}

export const depths = createStore<DepthsState>({
  part: 'overview',
  strip: 'time',
  points: false,
  colourBy: 'depth',
  flagged: 'shown',
  brushPx: 14,
  run: null,
  look: null,
  byDistance: true,
  neighboursM: 12,
  onlyReason: null,
  hiddenCurves: [],
  crossing: -1,
});

/** A place and how much around it the views are to show; counts up. */
export const placeLooked = createStore<{ readonly xM: number; readonly yM: number; readonly depthM: number; readonly reachM: number; readonly asked: number } | null>(null);

let runsFor: object | null = null;
let runs: readonly Run[] = [];

/** Runs of the survey as loaded; made once. */
export function runsNow(): readonly Run[] {
  const { soundings } = survey.get();
  if (soundings?.timeS !== runsFor) {
    runsFor = soundings?.timeS ?? null;
    runs = soundings === null ? [] : runsOf(soundings);
  }
  return runs;
}

let stretchesFor = '';
let stretchesOf: object | null = null;
let stretches: readonly FlaggedStretch[] = [];

/** Stretches of set-aside soundings by the reason one goes through; made once for each change. */
export function stretchesNow(): readonly FlaggedStretch[] {
  const { soundings, reasonVersion } = survey.get();
  const { onlyReason } = depths.get();
  const key = `${reasonVersion} ${onlyReason}`;
  if (key !== stretchesFor || stretchesOf !== (soundings?.timeS ?? null)) {
    stretchesFor = key;
    stretchesOf = soundings?.timeS ?? null;
    stretches = soundings === null ? [] : flaggedStretches(soundings, onlyReason);
  }
  return stretches;
}

/** Room shown to each side of a stretch that is gone to [s]. */
const ROOM_S = 12;

/** Looks at rows: in the profile with what is around them in time, on the chart and among the points where they lie. */
export function lookAt(rowStart: number, rowEnd: number): void {
  const { soundings } = survey.get();
  if (soundings === null || rowStart < 0 || rowStart >= soundings.n) return;
  const run = runsNow()[runAt(runsNow(), rowStart)] ?? null;
  depths.update((now) => ({ ...now, run, strip: 'profile', look: run === null ? null : { stretch: { rowStart, rowEnd }, asked: (now.look?.asked ?? 0) + 1 } }));
  let [xM, yM, depthM, many] = [0, 0, 0, 0];
  const take = (i: number) => {
    if (!Number.isFinite(soundings.xM[i]) || !Number.isFinite(soundings.depthM[i])) return;
    xM += soundings.xM[i] as number;
    yM += soundings.yM[i] as number;
    depthM += soundings.depthM[i] as number;
    many++;
  };
  for (let i = rowStart; i < rowEnd; i++) take(i);
  // What has no place itself lies near its neighbours in time.
  for (let reach = 1; many === 0 && reach < 200; reach++) for (const i of [rowStart - reach, rowEnd + reach]) if (i >= 0 && i < soundings.n) take(i);
  if (many > 0) {
    const [x, y] = [xM / many, yM / many];
    let reachM = 20;
    for (let i = rowStart; i < rowEnd; i++) if (Number.isFinite(soundings.xM[i])) reachM = Math.max(reachM, 1.5 * Math.hypot((soundings.xM[i] as number) - x, (soundings.yM[i] as number) - y));
    placeLooked.set({ xM: x, yM: y, depthM: depthM / many, reachM: Math.min(reachM, 200), asked: (placeLooked.get()?.asked ?? 0) + 1 });
  }
  hover.set({ row: rowStart, from: 'keys' });
}

/** Room in rows around a stretch, for the profile [s]. */
export function stretchWindowS(stretch: Stretch): readonly [number, number] {
  const { soundings } = survey.get();
  if (soundings === null) return [0, 1];
  return [(soundings.timeS[stretch.rowStart] as number) - ROOM_S, (soundings.timeS[Math.min(soundings.n, stretch.rowEnd) - 1] as number) + ROOM_S];
}

/** Goes to the next or the previous stretch of set-aside soundings. */
export function goToFlagged(step: 1 | -1): void {
  const all = stretchesNow();
  const { look } = depths.get();
  const from = look?.stretch.rowStart ?? (step > 0 ? -1 : Infinity);
  const next = all[stretchFrom(all, from, step)];
  if (next !== undefined) lookAt(next.rowStart, next.rowEnd);
}

/** Shows the run of a sounding in the profile, whole. */
export function showRunOf(row: number): void {
  const run = runsNow()[runAt(runsNow(), row)] ?? null;
  if (run !== null && run !== depths.get().run) depths.update((now) => ({ ...now, run, look: null }));
}
