import { convergenceDeg } from '../../geo/bearing.js';
import type { Frame } from '../../geo/frame.js';
import { NO_ROWS } from '../select/rows.js';
import { placeWanted, rehearsal, rehearseHover, setPlace, shownOf, type RehearsalState } from '../state/rehearsal.js';
import { screen, session, survey, type ScreenState, type SessionState, type SurveyState } from '../state/stores.js';
import { atTime, MISHAP_WORDS, outcomeText, rehearsedMoment } from '../words/rehearse.js';
import type { ChartTable } from './chart-table.js';
import type { InkScene } from './paint-ink.js';
import type { Palette } from './palette.js';
import { paintBoat } from './rehearse-boat.js';
import { concernMarks, holeMarks, momentAt, nearestRehearsed, sortieMarks, trackMarks, worstOf, type RehearseMarks } from './rehearse-marks.js';
import { paintRehearse } from './rehearse-paint.js';
import type { Viewport } from './viewport.js';

/** A place on the chart under the pointer. */
type Pointed = { readonly xM: number; readonly yM: number; readonly reachM: number };

/** What sorties and rehearsals add to the chart. */
export interface RehearseChart {
  /** The chart's scene as it is at the stage at hand. */
  dress(scene: InkScene): InkScene;
  /** Whether the pointer, or a click, is its own. */
  pointer(place: Pointed | null): boolean;
  click(place: Pointed): boolean;
  /** Whether there is a rehearsal to be looked at. */
  readonly shows: boolean;
  /** What else is to be in view when all of the survey is shown. */
  places(survey: Float64Array): Float64Array;
  dispose(): void;
}

const NONE_LEFT_OUT: RehearseMarks['leftOut'] = [];

function memo<A extends readonly unknown[], R>(make: (...inputs: A) => R): (...inputs: A) => R {
  let last: { readonly inputs: A; readonly result: R } | null = null;
  return (...inputs) => {
    if (last === null || last.inputs.some((input, i) => !Object.is(input, inputs[i]))) last = { inputs, result: make(...inputs) };
    return last.result;
  };
}

/** Puts sorties and rehearsals on a chart; the boat at the moment pointed at stands on a canvas of its own, so that it costs the chart nothing. */
export function mountRehearse(chart: ChartTable, frame: Frame, over: HTMLElement, changed: () => void): RehearseChart {
  const top = document.createElement('canvas');
  top.className = 'rehearse-top';
  top.setAttribute('aria-hidden', 'true');
  over.prepend(top);
  let palette: Palette | null = null;
  const savedSorties = memo(sortieMarks);
  const tracks = memo(trackMarks);
  const concerns = memo(concernMarks);
  const worst = memo(worstOf);
  const holes = memo(holeMarks);
  const place = memo((at: { readonly latDeg: number; readonly lonDeg: number } | null): readonly [number, number] | null => (at === null ? null : frame.toFrame(at.latDeg, at.lonDeg)));
  const basePlace = memo((at: { readonly latDeg: number; readonly lonDeg: number } | null): readonly [number, number] | null => (at === null ? null : frame.toFrame(at.latDeg, at.lonDeg)));
  const whereOf = memo((where: readonly (readonly number[])[]) => where.map((shape) => Float64Array.from(shape)));
  const marksOf = (now: RehearsalState, state: SurveyState, plan: SessionState['plan'], stage: ScreenState['stage']): RehearseMarks | null => {
    const { summary } = state;
    if (summary === null || (stage !== 'lines' && stage !== 'rehearse')) return null;
    const { launch, base } = summary.settings.sortie;
    const changed = plan?.changed === true;
    const draft = changed ? (plan.planned?.sorties ?? null) : null;
    const saved = summary.sorties?.fault ?? null;
    const fault =
      stage === 'lines' && changed && plan.fault !== null && plan.where.length > 0
        ? { message: plan.fault, where: plan.where }
        : draft !== null && draft.fault !== null && draft.where.length > 0
          ? { message: draft.fault, where: draft.where }
          : saved !== null && saved.where.length > 0 && !changed
            ? { message: saved.message, where: whereOf(saved.where) }
            : null;
    const shown = stage === 'rehearse' ? shownOf(now) : null;
    return {
      stage,
      launch: place(launch),
      base: basePlace(base ?? launch),
      sorties: stage === 'lines' && (changed ? draft !== null : true) ? savedSorties(changed ? (draft?.plan ?? null) : now.sorties) : [],
      fault,
      tracks: stage === 'rehearse' ? tracks(shown, now.sorties) : [],
      selected: now.selected,
      concerns: stage === 'rehearse' ? concerns(shown) : [],
      worst: stage === 'rehearse' ? (worst(shown)?.moment ?? null) : null,
      link: stage === 'rehearse' ? now.link : null,
      mishap: stage === 'rehearse' ? now.mishap : null,
      toleranceM: summary.settings.rehearse.toleranceM,
      leftOut: (changed ? draft?.plan : now.sorties)?.leftOut ?? NONE_LEFT_OUT,
      // They are of the rehearsal as the folder has it.
      holes: stage === 'rehearse' && shown?.from === 'saved' ? holes(state.shapes.rehearsedHoles) : [],
    };
  };
  const marks = () => marksOf(rehearsal.get(), survey.get(), session.get().plan, screen.get().stage);
  const drawTop = (view: Viewport) => {
    const ratio = devicePixelRatio;
    const width = Math.round(view.widthPx * ratio);
    const height = Math.round(view.heightPx * ratio);
    if (top.width !== width) top.width = width;
    if (top.height !== height) top.height = height;
    const ctx = top.getContext('2d');
    if (ctx === null || palette === null) return;
    ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
    ctx.clearRect(0, 0, view.widthPx, view.heightPx);
    const { timeS } = rehearseHover.get();
    const now = rehearsal.get();
    const shown = shownOf(now);
    if (screen.get().stage !== 'rehearse' || Number.isNaN(timeS) || shown === null) return;
    const at = atTime(shown.sorties, timeS);
    if (at === null) return;
    const { columns } = at.sortie;
    const moment = now.mishap === null ? null : momentAt(shown, timeS);
    // Rows of a quick rehearsal are far apart: the boat is between them.
    const next = Math.min(columns.n - 1, at.row + ((columns.timeS[at.row] as number) < timeS ? 1 : 0));
    const from = next === at.row ? Math.max(0, at.row - 1) : at.row;
    const span = (columns.timeS[next] as number) - (columns.timeS[from] as number);
    const share = span > 0 ? Math.max(0, Math.min(1, (timeS - (columns.timeS[from] as number)) / span)) : 0;
    const mix = (values: Float64Array) => (values[from] as number) + share * ((values[next] as number) - (values[from] as number));
    const [xM, yM] = [mix(columns.xM), mix(columns.yM)];
    paintBoat(ctx, view, { xM, yM, headingDeg: (columns.headingDeg[at.row] as number) - convergenceDeg(frame, xM, yM), text: rehearsedMoment(shown.sorties, timeS), mishap: moment === null || now.mishap === null ? null : { ...moment, mishap: now.mishap, text: `${MISHAP_WORDS[now.mishap]}: ${outcomeText(moment.moments, now.mishap, moment.i)}` } }, palette);
  };
  let topFrame = 0;
  const drawTopSoon = () => {
    if (topFrame !== 0) return;
    topFrame = requestAnimationFrame(() => {
      topFrame = 0;
      drawTop(chart.viewport());
    });
  };
  chart.setOverlay({
    ink: (ctx, view, colours, reserved) => {
      palette = colours;
      const now = marks();
      if (now !== null) paintRehearse(ctx, view, now, colours, reserved);
    },
    top: drawTop,
  });
  const sheet = over.parentElement;
  const point = () => sheet?.classList.toggle('placing', screen.get().tool === 'launch' || screen.get().tool === 'base');
  point();
  const stops = [
    screen.watch(point),
    rehearsal.watch(changed),
    rehearseHover.watch(drawTopSoon),
    placeWanted.watch(() => {
      const wanted = placeWanted.get();
      if (wanted !== null) chart.reveal(wanted.xM, wanted.yM);
    }),
  ];
  return {
    get shows() {
      return screen.get().stage === 'rehearse' && shownOf(rehearsal.get()) !== null;
    },
    dress(scene) {
      const { stage } = screen.get();
      if (stage !== 'rehearse') return scene;
      // Where a sortie is rehearsed what was surveyed stands back; contours, shore and keep-outs stay.
      return { ...scene, labels: null, track: null, gaps: [], fillIn: [], crossings: null, selection: NO_ROWS, show: { ...scene.show, setAside: false, track: false, lines: shownOf(rehearsal.get()) === null, fillIn: false, planning: true } };
    },
    pointer(at) {
      if (screen.get().stage !== 'rehearse') return false;
      const now = marks();
      const found = at === null || now === null ? null : nearestRehearsed(now.tracks, now.selected, at.xM, at.yM, at.reachM);
      const timeS = found?.timeS ?? NaN;
      if (!Object.is(rehearseHover.get().timeS, timeS)) rehearseHover.set({ timeS, from: 'chart' });
      return true;
    },
    click(at) {
      const { tool, stage } = screen.get();
      if (tool === 'launch' || tool === 'base') {
        const [latDeg, lonDeg] = frame.toGeographic(at.xM, at.yM);
        void setPlace(tool, { latDeg, lonDeg });
        return true;
      }
      if (stage !== 'rehearse') return false;
      const now = marks();
      const found = now === null ? null : nearestRehearsed(now.tracks, now.selected, at.xM, at.yM, at.reachM);
      rehearsal.update((state) => ({ ...state, selected: found?.sortie ?? null }));
      return true;
    },
    places(all) {
      const now = marks();
      if (now === null) return all;
      const more: number[] = [];
      for (const at of [now.launch, now.base]) if (at !== null) more.push(...at);
      for (const { shown } of now.tracks) for (let i = 0; i < shown.columns.n; i += 20) more.push(shown.columns.xM[i] as number, shown.columns.yM[i] as number);
      return Float64Array.from([...all, ...more]);
    },
    dispose() {
      for (const stop of stops) stop();
      cancelAnimationFrame(topFrame);
      chart.setOverlay(null);
      top.remove();
    },
  };
}
