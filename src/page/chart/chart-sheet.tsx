import 'ol/ol.css';
import { useEffect, useRef } from 'react';
import { Stroke, strokeElsewhere } from '../select/stroke.js';
import { select } from '../state/decide-soundings.js';
import { askDrawn } from '../state/floor.js';
import { addNoGo } from '../state/no-go.js';
import { setDraftArea } from '../state/plan.js';
import { surfaceWorker } from '../state/actions.js';
import { crossingHover, hover, screen, session, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { chartWanted, selectTrial, trialHover, trials } from '../state/trials.js';
import { momentText } from '../words/moment.js';
import { nearestRow } from '../strip/decimate.js';
import { readout } from '../words/readout.js';
import { trialName } from '../words/trials.js';
import { pickLogs } from '../drop-zone.js';
import { download } from '../download.js';
import { ChartTable } from './chart-table.js';
import { forgetWidths } from './paint-ink.js';
import { crossingText } from './crossing-marks.js';
import { fitView } from './fit-view.js';
import { imagery } from '../state/imagery.js';
import { placesOfAll, sceneMaker } from './scene.js';
import { TitleBlock } from './title-block.js';
import { boxOf, extentOf } from './viewport.js';
import { nearestMark, nearestMoment } from './trial-marks.js';
import { mountDepths } from './depths-chart.js';
import { mountImagery } from './imagery-chart.js';
import { DepthsTools } from './depths-tools.js';
import { Icon } from './icon.js';
import { mountRehearse } from './rehearse-chart.js';
import { SelectionBar } from './selection-bar.js';

/** The chart with its border, its tools, and what the pointer is on. */
export function ChartSheet() {
  const frame = useStore(survey, (now) => now.frame);
  const loading = useStore(survey, (now) => now.loading);
  const error = useStore(survey, (now) => now.error);
  const chart = useRef<MountedChart | null>(null);
  const sheet = useRef<HTMLDivElement>(null);
  const target = useRef<HTMLDivElement>(null);
  const furniture = useRef<HTMLCanvasElement>(null);
  const marker = useRef<HTMLDivElement>(null);
  const label = useRef<HTMLDivElement>(null);
  const over = useRef<HTMLDivElement>(null);

  useEffect(() => {
    const table = mountChart(sheet.current, target.current, furniture.current, marker.current, label.current, over.current);
    chart.current = table;
    return () => {
      chart.current = null;
      table?.dispose();
    };
  }, [frame]);

  return (
    <section className="chart" aria-label="Chart">
      {frame !== null && <ChartTools chart={chart} />}
      <div className="chart-sheet" ref={sheet}>
        <div className="chart-map" ref={target} tabIndex={0} role="application" aria-label="Chart of the survey: arrow keys pan, plus and minus zoom. Soundings can be walked through on the time strip." />
        <canvas className="chart-furniture" ref={furniture} aria-hidden="true" />
        <div className="chart-over" ref={over}>
          <div className="chart-marker" ref={marker} hidden />
          <div className="chart-label" ref={label} hidden />
          {frame !== null && <TitleBlock />}
          {frame === null && loading === null && <Empty />}
          <SelectionBar />
        </div>
        {loading !== null && (
          <p className="chart-note" role="status">
            Reading {loading}…
          </p>
        )}
        {error !== null && (
          <p className="chart-note bad" role="alert">
            {error}
          </p>
        )}
      </div>
    </section>
  );
}

interface MountedChart {
  readonly chart: ChartTable;
  /** Shows the whole survey, clear of the title and the rose. */
  readonly fitAll: (animate: boolean) => void;
  readonly dispose: () => void;
}

/** Room between the title block and the chart's edge, as in the style sheet [px]. */
const TITLE_EDGE_PX = 14;
/** A chart that changes its size so soon after it was fitted is fitted again [s]. */
const REFIT_WITHIN_S = 2;
/** The chart follows what the pointer is on elsewhere after this long [ms]. */
const FOLLOW_MS = 70;

function mountChart(sheet: HTMLElement | null, target: HTMLElement | null, furniture: HTMLCanvasElement | null, marker: HTMLElement | null, label: HTMLElement | null, over: HTMLElement | null): MountedChart | null {
  const { frame } = survey.get();
  if (frame === null || sheet === null || target === null || furniture === null || marker === null || label === null || over === null) return null;
  const makeScene = sceneMaker();
  const stroke = new Stroke('chart');
  let fitted = false;
  let sketched = false;
  const chart = new ChartTable(sheet, target, furniture, frame, surfaceWorker, {
    pointer: (place) => {
      if (rehearse.pointer(place) || imageryChart.pointer(place) || pointTrial(place)) return;
      depthsChart.pointer(place);
      const { tool } = screen.get();
      const row = place === null || tool === 'draw' || tool === 'edit' || tool.startsWith('ask-') || tool.startsWith('draw-') ? -1 : nearestSounding(place.xM, place.yM, place.reachM);
      const crossing = place === null ? -1 : nearestCrossing(chart, place.xM, place.yM, place.reachM / 1.6);
      if (crossingHover.get() !== crossing) crossingHover.set(crossing);
      const shown = crossing >= 0 ? -1 : row;
      if (hover.get().row !== shown) hover.set({ row: shown, from: 'chart' });
    },
    click: (place, mode) => {
      if (rehearse.click(place) || imageryChart.click(place) || depthsChart.click(place, mode)) return;
      const marks = chart.scene?.trials ?? null;
      if (marks !== null && marks.marks.length > 0) {
        selectTrial(nearestMark(marks, place.xM, place.yM, place.reachM)?.id ?? null, 'chart');
        return;
      }
      const row = nearestSounding(place.xM, place.yM, place.reachM);
      select(row < 0 ? [] : [row], mode);
    },
    box: (box, mode) => {
      const { index } = survey.get();
      if (index !== null) select(shownRows(index.range(box.westM, box.southM, box.eastM, box.northM)), mode);
    },
    brush: ({ xM, yM, radiusM }, mode) => {
      const { index } = survey.get();
      if (index !== null) stroke.add(shownRows(index.within(xM, yM, radiusM)), mode);
    },
    brushed: () => stroke.flushSoon(),
    asked: (kind, vertices) => void askDrawn(kind, vertices),
    noGo: (which, vertices) => void addNoGo(which, vertices),
    area: (area, settled) => {
      setDraftArea(area, settled);
      // A shape just closed is at once one to be dragged.
      if (settled && area.length > 0 && screen.get().tool === 'draw') screen.update((now) => ({ ...now, tool: 'edit' }));
    },
    moved: () => mark(),
  });
  const rehearse = mountRehearse(chart, frame, over, () => draw());
  const depthsChart = mountDepths(chart, over);
  const imageryChart = mountImagery(chart, () => draw());
  /** Where trials are shown the pointer is on one of them, at the moment the boat was there. */
  const pointTrial = (place: { readonly xM: number; readonly yM: number; readonly reachM: number } | null): boolean => {
    const marks = chart.scene?.trials ?? null;
    if (marks === null || marks.marks.length === 0) return false;
    const { loaded, shown } = trials.get();
    const mark = place === null ? null : nearestMark(marks, place.xM, place.yM, place.reachM);
    const trial = shown.find(({ id }) => id === mark?.id);
    const timeS = loaded === null || trial === undefined || place === null ? NaN : nearestMoment(loaded, trial, place.xM, place.yM);
    if (trialHover.get().id !== (trial?.id ?? null) || !Object.is(trialHover.get().timeS, timeS)) trialHover.set({ id: trial?.id ?? null, timeS, from: 'chart' });
    return true;
  };
  /** The title stands in the lower or upper left corner, wherever the survey can be shown larger. */
  const fitAll = (animate: boolean) => {
    const places = imageryChart.places(rehearse.places(placesOfAll(survey.get(), session.get().plan, screen.get().stage === 'boat' ? trials.get() : null)));
    const block = over.querySelector<HTMLElement>('.title-block');
    const stands = chart.furniture();
    const { widthPx, heightPx } = chart.viewport();
    const title = (atTop: boolean) => ({ x: 0, y: atTop ? 0 : heightPx - (block?.offsetHeight ?? 0) - TITLE_EDGE_PX, width: (block?.offsetWidth ?? 0) + TITLE_EDGE_PX, height: (block?.offsetHeight ?? 0) + TITLE_EDGE_PX });
    const [below, above] = [false, true].map((atTop) => fitView(places, widthPx, heightPx, block === null ? stands : [...stands, title(atTop)]));
    if (below == null || above == null) return;
    const atTop = above.clear && (!below.clear || above.metresPerPixel < below.metresPerPixel);
    over.classList.toggle('title-at-top', atTop);
    chart.show(atTop ? above : below, animate);
  };
  let fittedFor = '';
  let fittedS = -Infinity;
  /** The Boat stage looks at the trials, the others at the survey: the view follows when the one gives way to the other. */
  const fitStage = () => {
    const now = screen.get().stage === 'boat' && trials.get().loaded !== null ? 'trials' : rehearse.shows ? 'rehearsal' : imageryChart.shows ? (fittedFor === 'mosaic' || imagery.get().mosaic !== null ? 'mosaic' : 'imagery') : 'survey';
    if (now === fittedFor) return;
    const first = fittedFor === '';
    fittedFor = now;
    if (!first || now !== 'survey') {
      fitted = true;
      fittedS = performance.now() / 1000;
      requestAnimationFrame(() => fitAll(false));
    }
  };
  /** The strip of the stage comes a moment after the view was fitted and takes room from it. */
  const refit = new ResizeObserver(() => {
    if (performance.now() / 1000 - fittedS < REFIT_WITHIN_S) requestAnimationFrame(() => fitAll(false));
  });
  refit.observe(sheet);
  target.addEventListener('pointerdown', () => (fittedS = -Infinity));
  target.addEventListener('wheel', () => (fittedS = -Infinity), { passive: true });
  const draw = () => {
    const state = survey.get();
    chart.setScene(imageryChart.dress(rehearse.dress(makeScene(state, session.get(), screen.get(), trials.get(), trialHover.get().id))));
    fitStage();
    if (fitted) return;
    // What is known already is shown at once; the soundings, when they come, have the last word.
    const waits = state.loading !== null && state.soundings === null && (state.summary?.soundings != null || state.track === null);
    const something = placesOfAll(state, session.get().plan).length > 0;
    if (something && (!waits || !sketched)) {
      fitted = state.loading === null;
      sketched = true;
      // The title has its size once its font has come.
      if (fitted) void document.fonts.ready.then(() => requestAnimationFrame(() => fitAll(false)));
      else requestAnimationFrame(() => fitAll(false));
    } else if (state.startPlace !== null && !something) {
      fitted = true;
      const [centreXM, centreYM] = frame.toFrame(state.startPlace.latDeg, state.startPlace.lonDeg);
      chart.show({ centreXM, centreYM, metresPerPixel: Math.max(0.02, 800 / Math.max(60, chart.viewport().widthPx)) }, false);
    }
  };
  const mark = () => {
    const { loaded, shown } = trials.get();
    if (loaded !== null && screen.get().stage === 'boat') {
      const { id, timeS } = trialHover.get();
      const moment = Number.isNaN(timeS) ? -1 : nearestRow(loaded.log.timeS, timeS);
      const trial = shown.find((one) => one.id === id);
      const text = moment < 0 ? '' : momentText(loaded, timeS);
      putMark(moment < 0 ? null : [loaded.log.xM[moment] as number, loaded.log.yM[moment] as number], trial === undefined ? text : `${trialName(trial, shown)}\n${text}`);
      return;
    }
    const { row } = hover.get();
    const { soundings } = survey.get();
    const crossing = crossingHover.get();
    const marks = chart.scene?.crossings ?? null;
    const onCrossing = marks !== null && crossing >= 0 && crossing < marks.n;
    const at = onCrossing ? ([marks.xM[crossing], marks.yM[crossing]] as const) : soundings === null || row < 0 ? null : ([soundings.xM[row], soundings.yM[row]] as const);
    const said = soundings === null || row < 0 ? null : readout(soundings, row);
    putMark(at as readonly [number, number] | null, onCrossing ? crossingText(marks, crossing) : said === null ? '' : said.why === '' ? said.text : `${said.text}\n${said.why}`);
  };
  const putMark = (at: readonly [number, number] | null, text: string) => {
    const place = at === null ? null : chart.pixelOf(at[0], at[1]);
    marker.hidden = place === null;
    label.hidden = place === null;
    if (place === null) return;
    marker.style.transform = `translate(${place.x}px, ${place.y}px)`;
    label.textContent = text;
    const room = target.clientWidth;
    const width = label.offsetWidth;
    const x = place.x + 14 + width > room ? place.x - width - 14 : place.x + 14;
    label.style.transform = `translate(${Math.max(4, x)}px, ${place.y < 60 ? place.y + 12 : place.y - 12 - label.offsetHeight}px)`;
  };
  let drawTimer: ReturnType<typeof setTimeout> | undefined;
  const drawSoon = () => {
    drawTimer ??= setTimeout(() => {
      drawTimer = undefined;
      draw();
    }, FOLLOW_MS);
  };
  let shownHover: string | null = null;
  let revealed: string | null = null;
  /** A trial chosen elsewhere is brought into view. */
  const revealTrial = () => {
    const { selected } = trials.get();
    if (selected === revealed) return;
    revealed = selected;
    const found = chart.scene?.trials?.marks.find(({ id }) => id === selected);
    if (found !== undefined) chart.reveal((found.box.westM + found.box.eastM) / 2, (found.box.southM + found.box.northM) / 2);
  };
  const lookCloser = () => {
    const wanted = chartWanted.get();
    const found = (chart.scene?.trials?.marks ?? []).filter(({ id }) => wanted?.trials.includes(id) === true);
    const box = boxOf(found.map(({ line }) => line));
    if (box === null || wanted === null) return;
    const { westM, southM, eastM, northM } = box;
    const view = chart.viewport();
    const seen = extentOf(view);
    if (!wanted.always && westM >= seen.westM && eastM <= seen.eastM && southM >= seen.southM && northM <= seen.northM) return;
    fittedS = -Infinity;
    const room = wanted.always ? 2.2 : 1.3;
    chart.show({ centreXM: (westM + eastM) / 2, centreYM: (southM + northM) / 2, metresPerPixel: Math.max(0.01, room * Math.max((eastM - westM) / view.widthPx, (northM - southM) / view.heightPx)) }, true);
  };
  let surface = survey.get().surface;
  let tool = screen.get().tool;
  let dusk = screen.get().dusk;
  const setDate = () => chart.setDate(survey.get().summary?.soundings?.timeStartS ?? Date.now() / 1000);
  chart.setSurface(surface);
  setDate();
  const useTool = () => {
    if (tool === 'draw' || tool === 'edit') chart.setArea(tool === 'draw' ? [] : (session.get().plan?.area ?? []));
    chart.setTool(tool);
  };
  useTool();
  draw();
  const stops = [
    survey.watch(() => {
      if (survey.get().surface !== surface) {
        surface = survey.get().surface;
        chart.setSurface(surface);
      }
      setDate();
      draw();
      mark();
    }),
    session.watch(() => {
      if (strokeElsewhere('chart')) drawSoon();
      else draw();
    }),
    trials.watch(() => {
      // Under the hand the strip goes first: the chart follows a few times a second.
      if (trials.get().held === null) draw();
      else drawSoon();
      revealTrial();
    }),
    chartWanted.watch(lookCloser),
    trialHover.watch(() => {
      const { id } = trialHover.get();
      if (id !== shownHover) {
        shownHover = id;
        drawSoon();
      }
      mark();
    }),
    screen.watch(() => {
      const now = screen.get();
      if (now.tool !== tool) {
        tool = now.tool;
        useTool();
      }
      if (now.dusk !== dusk) {
        dusk = now.dusk;
        chart.repaint();
      }
      draw();
    }),
    crossingHover.watch(mark),
    hover.watch(() => {
      const { row, from } = hover.get();
      const { soundings } = survey.get();
      if (from === 'keys' && row >= 0 && soundings !== null && Number.isFinite(soundings.xM[row])) chart.reveal(soundings.xM[row] as number, soundings.yM[row] as number);
      mark();
    }),
  ];
  void Promise.all(['italic 500 15px', '500 13px', '600 13px'].map((font) => document.fonts.load(`${font} "Barlow Semi Condensed"`))).then(() => {
    forgetWidths();
    chart.repaint();
  });
  return {
    chart,
    fitAll,
    dispose: () => {
      for (const stop of stops) stop();
      clearTimeout(drawTimer);
      refit.disconnect();
      rehearse.dispose();
      depthsChart.dispose();
      imageryChart.dispose();
      chart.dispose();
    },
  };
}

/** The nearest of the crossings shown that is in reach, -1 for none. */
function nearestCrossing(chart: ChartTable, xM: number, yM: number, reachM: number): number {
  const marks = chart.scene?.crossings ?? null;
  let best = -1;
  let bestM = reachM;
  for (let i = 0; i < (marks?.n ?? 0); i++) {
    const distance = Math.hypot((marks?.xM[i] as number) - xM, (marks?.yM[i] as number) - yM);
    if (distance < bestM) {
      bestM = distance;
      best = i;
    }
  }
  return best;
}

/** Of some soundings those that the chart shows. */
function shownRows(rows: readonly number[]): readonly number[] {
  const { soundings } = survey.get();
  return screen.get().showSetAside || soundings === null ? rows : rows.filter((row) => soundings.reason[row] === 0);
}

/** The nearest sounding in reach, -1 for none; a set-aside one only while they are shown. */
function nearestSounding(xM: number, yM: number, reachM: number): number {
  const { index, soundings } = survey.get();
  if (index === null || soundings === null) return -1;
  const all = screen.get().showSetAside;
  for (const reach of [reachM / 4, reachM]) {
    let best = -1;
    let bestM = Infinity;
    for (const row of index.within(xM, yM, reach)) {
      const reason = soundings.reason[row] as number;
      if (reason !== 0 && !all) continue;
      // A ring is small and on top: it counts as a little nearer.
      const distance = Math.hypot((soundings.xM[row] as number) - xM, (soundings.yM[row] as number) - yM) - (reason === 0 ? 0 : reachM / 6);
      if (distance < bestM) {
        bestM = distance;
        best = row;
      }
    }
    if (best >= 0) return best;
  }
  return -1;
}

function ChartTools({ chart: mounted }: { readonly chart: React.RefObject<MountedChart | null> }) {
  const now = useStore(screen);
  const stage = now.stage;
  // Where the mosaic is looked at, soundings and plans are not shown.
  const pictured = stage === 'imagery' || stage === 'finds';
  const trialsShown = useStore(trials, (state) => state.loaded !== null) && stage === 'boat';
  const hasCrossings = useStore(survey, (state) => (state.crossings?.n ?? 0) > 0);
  const toggle = (key: 'showSetAside' | 'showTrack' | 'showLines' | 'showCrossings' | 'dusk') => screen.update((state) => ({ ...state, [key]: !state[key] }));
  return (
    <div className="chart-tools" role="toolbar" aria-label="Chart tools">
      <button type="button" aria-label="Zoom in" title="Zoom in (+)" onClick={() => mounted.current?.chart.zoom(1.6)}>
        <Icon d="M10 4v12M4 10h12" />
      </button>
      <button type="button" aria-label="Zoom out" title="Zoom out (−)" onClick={() => mounted.current?.chart.zoom(1 / 1.6)}>
        <Icon d="M4 10h12" />
      </button>
      <button
        type="button"
        aria-label="Show the whole survey"
        title="Show the whole survey"
        onClick={() => mounted.current?.fitAll(true)}
      >
        <Icon d="M4 8V4h4M12 4h4v4M16 12v4h-4M8 16H4v-4" />
      </button>
      {stage !== 'lines' && !pictured && !trialsShown && (
        <button type="button" aria-label="Select by box" title="Select by box, on the chart or on the strip (or hold Shift and drag)" aria-pressed={now.tool === 'select'} onClick={() => screen.update((state) => ({ ...state, tool: state.tool === 'select' ? 'look' : 'select' }))}>
          <Icon d="M4 4h3M9 4h3M14 4h2v2M16 9v3M16 14v2h-2M12 16H9M7 16H4v-2M4 12V9M4 7V4" />
        </button>
      )}
      {stage === 'depths' && <DepthsTools />}
      {!pictured && (
      <button type="button" aria-label="Set-aside soundings" title="Set-aside soundings" aria-pressed={now.showSetAside} onClick={() => toggle('showSetAside')}>
        <svg viewBox="0 0 20 20" aria-hidden="true">
          <circle cx="7" cy="8" r="3" />
          <circle cx="13" cy="13" r="3" />
        </svg>
      </button>
      )}
      <button type="button" aria-label="Track" title="Track as run" aria-pressed={now.showTrack} onClick={() => toggle('showTrack')}>
        <Icon d="M3 7c5-2 9 2 14 0M3 13c5-2 9 2 14 0" />
      </button>
      {!pictured && (
      <button type="button" aria-label="Planned lines" title="Planned lines" aria-pressed={now.showLines} onClick={() => toggle('showLines')}>
        <Icon d="M3 6h3M8.500 6h3M14 6h3M3 10h3M8.500 10h3M14 10h3M3 14h3M8.500 14h3M14 14h3" />
      </button>
      )}
      {hasCrossings && !pictured && stage !== 'lines' && stage !== 'boat' && (
        <button type="button" aria-label="Crossings" title="Crossings: the difference in depth where lines cross" aria-pressed={now.showCrossings} onClick={() => toggle('showCrossings')}>
          <Icon d="M4 4l12 12M16 4L4 16" />
        </button>
      )}
      <button type="button" aria-label="Dusk palette" title="Dusk palette" aria-pressed={now.dusk} onClick={() => toggle('dusk')}>
        <Icon d="M15.500 12.500A6.500 6.500 0 0 1 8 4a6.500 6.500 0 1 0 7.500 8.500z" />
      </button>
      <button
        type="button"
        aria-label="Save the chart as PNG"
        title="Save the chart as PNG"
        onClick={() => mounted.current?.chart.picture().toBlob((blob) => blob !== null && download(blob, 'chart.png'))}
      >
        <Icon d="M10 3v9M6 9l4 4 4-4M4 16h12" />
      </button>
    </div>
  );
}

function Empty() {
  return (
    <div className="empty">
      <h2>An empty chart</h2>
      <p>
        Take in a log the boat has written, or begin with the area you mean to survey: drop either of them anywhere on this table.
      </p>
      <p className="empty-ways">
        <button type="button" className="main" onClick={pickLogs}>
          Take in a log
        </button>
        <button type="button" onClick={() => screen.update((now) => ({ ...now, stage: 'lines' }))}>
          Begin with an area
        </button>
      </p>
    </div>
  );
}
