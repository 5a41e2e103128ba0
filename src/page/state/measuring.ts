import { readOffByHand } from '../../finds/by-hand.js';
import { sonarAt } from '../../finds/look-over.js';
import { ellipseOf, SIGMA_TO_95_2D, type Place } from '../../finds/place.js';
import { makeSighting, type Sighting } from '../../finds/sighting.js';
import type { DrawnShape } from '../waterfall/drawn-shape.js';
import type { Echo } from '../waterfall/echo-place.js';
import type { WaterfallMark } from '../waterfall/paint-waterfall.js';
import { decideFind, findHover, finds, listed, rowOf } from './finds.js';
import { imagery } from './imagery.js';
import { createStore } from './store.js';
import { screen, survey } from './stores.js';
import { waterfallSeen } from './waterfall-seen.js';

/** What is being measured in the waterfall: the first corner where one was put by a click, then the shape. */
export const measuring = createStore<{ readonly corner: Echo | null; readonly shape: DrawnShape | null }>({ corner: null, shape: null });

/** A shadow is drawn from within so many rows of the object. */
const BESIDE_ROWS = 12;

/** Nothing that is drawn is thinner than this [m]. */
const THIN_M = 0.02;

/** The shape as it was when the stroke under way began. */
let before: DrawnShape | null = null;
let drawing = false;

/** A stroke with the measuring tool: along the object first, then to the end of its shadow. One point alone is a corner of it. */
export function measureStroke(points: readonly Echo[], ended: boolean): void {
  const [first, last] = [points[0], points[points.length - 1]];
  if (!drawing) before = measuring.get().shape;
  drawing = !ended;
  if (first === undefined || last === undefined) {
    // Given up: as it was.
    measuring.set({ corner: null, shape: before });
    return;
  }
  const { corner } = measuring.get();
  if (points.length === 1) {
    if (before !== null && isBeyond(before, first)) measuring.set({ corner: null, shape: { ...before, shadowEndSlant: first.slantM } });
    else if (corner !== null && corner.side === first.side) measuring.set({ corner: null, shape: shapeBetween(corner, first) });
    else measuring.set({ corner: first, shape: null });
    return;
  }
  if (before !== null && isBeyond(before, first) && last.slantM > before.slantEnd) measuring.set({ corner: null, shape: { ...before, shadowEndSlant: last.slantM } });
  else if (last.side === first.side) measuring.set({ corner: null, shape: shapeBetween(first, last) });
}

/** Whether a point lies behind an object, where its shadow is. */
function isBeyond({ side, rowStart, rowEnd, slantStart, slantEnd }: DrawnShape, echo: Echo): boolean {
  return echo.side === side && echo.row >= rowStart - BESIDE_ROWS && echo.row < rowEnd + BESIDE_ROWS && echo.slantM > (slantStart + slantEnd) / 2;
}

function shapeBetween(a: Echo, b: Echo): DrawnShape {
  return { side: a.side, rowStart: Math.min(a.row, b.row), rowEnd: Math.max(a.row, b.row) + 1, slantStart: Math.min(a.slantM, b.slantM), slantEnd: Math.max(a.slantM, b.slantM, Math.min(a.slantM, b.slantM) + THIN_M), shadowEndSlant: NaN };
}

export function forgetMeasured(): void {
  measuring.set({ corner: null, shape: null });
}

/** A hand and an eye find an edge on the screen to so many pixels, one sigma. Common practice. */
const HAND_PX = 1.5;

/** How well the hand draws on the waterfall as large as it is now, one sigma [m]. */
function handNowM(): number {
  return HAND_PX * (waterfallSeen.get()?.metresPerPx ?? 0.05);
}

/** Size, height and place of what is drawn, each with its uncertainty, as the survey will have them; null where the height of the sonar is not known there. */
export function measuredNow(): { readonly measured: Pick<Sighting, 'length' | 'width' | 'height'>; readonly place: Place; readonly place95M: number } | null {
  const { shape } = measuring.get();
  const { pings, soundSpeedMps } = imagery.get();
  const { summary } = survey.get();
  if (shape === null || pings === null || summary === null) return null;
  const { side, rowStart, rowEnd } = shape;
  const read = readOffByHand(
    { side, rowStart, rowEnd, slantStartM: shape.slantStart, slantEndM: shape.slantEnd, shadowEndM: shape.shadowEndSlant, handM: handNowM() },
    { track: pings, firstEchoM: pings.firstEchoM, heightSigmaM: pings.heightSigmaM, intervalS: pings.intervalS, soundSpeedMps, beamDeg: summary.settings.imagery.beamDeg },
  );
  if (read === null) return null;
  const middle = Math.min(pings.n - 1, (rowStart + rowEnd) >> 1);
  const head = { id: '', log: '', side, record: pings.record[middle] as number, timeS: pings.timeS[middle] as number, line: pings.line[middle] as number, pass: -1, byHand: true, recordStart: 0, recordEnd: 0, score: NaN, falsePerHa: NaN, why: '' };
  const sighting = makeSighting(head, read, sonarAt(pings, (rowStart + rowEnd - 1) / 2));
  return { measured: sighting, place: sighting.place, place95M: SIGMA_TO_95_2D * ellipseOf(sighting.place).majorM };
}

/** Marks what is drawn as a find. */
export async function markMeasured(name: string): Promise<void> {
  const { shape } = measuring.get();
  const { pings } = imagery.get();
  const log = pings === null || shape === null ? undefined : survey.get().summary?.logs[pings.log[shape.rowStart] as number];
  if (shape === null || pings === null || log === undefined) return;
  const millimetres = (value: number): number => Math.round(value * 1000) / 1000;
  const done = await decideFind({
    action: 'mark',
    mark: {
      log: log.sha256.slice(0, 16), side: shape.side, recordStart: pings.record[shape.rowStart] as number, recordEnd: (pings.record[shape.rowEnd - 1] as number) + 1,
      slantStartM: millimetres(shape.slantStart), slantEndM: millimetres(shape.slantEnd), shadowEndM: Number.isFinite(shape.shadowEndSlant) ? millimetres(shape.shadowEndSlant) : null,
      handM: Number(handNowM().toPrecision(4)),
    },
    ...(name.trim() === '' ? {} : { name: name.trim() }),
  });
  if (done) {
    forgetMeasured();
    imagery.update((now) => ({ ...now, tool: 'look' }));
  }
}

/** What stands over the waterfall: what is measured, and the looks at finds. */
export function shownMarks(): readonly WaterfallMark[] {
  const marks: WaterfallMark[] = [];
  const { shape } = measuring.get();
  if (screen.get().stage === 'finds') {
    const state = finds.get();
    const pointed = findHover.get();
    for (const find of listed(state)) {
      for (const id of find.sightings) {
        const sighting = state.sightings.get(id);
        const row = sighting === undefined ? -1 : rowOf(sighting);
        if (sighting === undefined || row < 0) continue;
        const strong = find.id === state.selected || find.id === pointed;
        marks.push({ key: id, side: sighting.side, rowStart: row - (sighting.record - sighting.recordStart), rowEnd: row + (sighting.recordEnd - sighting.record) - 1, slantStart: sighting.slantStartM, slantEnd: sighting.slantEndM, shadowEndSlant: sighting.shadowEndM ?? NaN, label: find.name === '' ? String(find.number) : find.name, strong });
      }
    }
  }
  if (shape !== null) marks.push({ key: 'measured', ...shape, rowEnd: shape.rowEnd - 1, label: '', strong: true });
  return marks;
}

export function watchMarks(listener: () => void): () => void {
  const stops = [measuring.watch(listener), finds.watch(listener), findHover.watch(listener), screen.watch(listener), imagery.watch(listener)];
  return () => {
    for (const stop of stops) stop();
  };
}
