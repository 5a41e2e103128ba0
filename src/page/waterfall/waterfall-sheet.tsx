import { useEffect, useRef, useState } from 'react';
import { download } from '../download.js';
import { Icon } from '../chart/icon.js';
import { InlineChoice } from '../sheets/inline-choice.js';
import { drawBottomByHand, echoHover, echoWanted, goToEcho, imagery, pingsWorker, showRun, stepRun, type ImageryState } from '../state/imagery.js';
import { measureStroke, measuring, shownMarks, watchMarks } from '../state/measuring.js';
import { waterfallSeen } from '../state/waterfall-seen.js';
import { screen, survey } from '../state/stores.js';
import { trouble } from '../state/actions.js';
import { useStore } from '../state/store.js';
import { decibels, echoText, heightText, runText } from '../words/imagery.js';
import { COLOUR_SCALES, SCALE_WORDS, scaleGradient, type ColourScale } from './colour-scales.js';
import type { Echo } from './echo-place.js';
import { levelColours } from './level-colours.js';
import type { PingRun } from './ping-runs.js';
import { WaterfallView, type WaterfallAxis, type WaterfallTool } from './waterfall-view.js';
import type { TilePlace } from './waterfall-window.js';

function tileUrl(run: PingRun, tile: TilePlace): string {
  const { version, axis, levels } = imagery.get();
  return `/api/sonar/picture?from=${tile.from}&to=${tile.to}&step=${tile.step}&width=${tile.width}&range=${run.rangeM.toFixed(3)}&axis=${axis}&levels=${levels}&v=${version}`;
}

/** The waterfall beside the chart: what the sonar heard, ping by ping. */
export function WaterfallSheet() {
  const host = useRef<HTMLDivElement>(null);
  const view = useRef<WaterfallView | null>(null);
  const pings = useStore(imagery, (now) => now.pings);
  const loading = useStore(imagery, (now) => now.loading);
  const tool = useStore(imagery, (now) => now.tool);

  useEffect(() => {
    const place = host.current;
    if (place === null) return;
    const made = new WaterfallView(place, pingsWorker(), {
      hover: (echo, from) => echoHover.set({ echo, from }),
      click: (echo) => onClick(echo),
      stroke: (points, ended) => onStroke(points, ended),
      moved: (window, box) => {
        const half = (box.height / 2) * window.pingsPerPx;
        waterfallSeen.set({ rowStart: window.centreRow - half, rowEnd: window.centreRow + half, metresPerPx: window.metresPerPx });
      },
      tileUrl,
    });
    view.current = made;
    let kept: ImageryState | null = null;
    const show = (): void => {
      const now = imagery.get();
      const before = kept;
      kept = now;
      if (before !== null && (now.version !== before.version || now.levels !== before.levels)) made.dropTiles();
      made.setLook(now.axis, levelColours(now), now.showBottom);
      if (now.pings !== before?.pings || now.run !== before?.run) made.setRun(now.pings, now.runs[now.run] ?? null);
      if (now.tool !== before?.tool) made.setTool(now.tool);
      if (now.drawn !== before?.drawn) made.setPending(now.drawn);
      if (now.bottomVersion !== before?.bottomVersion) made.bottomChanged();
    };
    let asked = 0;
    const go = (): void => {
      const wanted = echoWanted.get();
      if (wanted === null || wanted.asked === asked) return;
      asked = wanted.asked;
      made.goTo(wanted.echo.row, wanted.sizeM);
      if (wanted.sizeM > 0) made.centre(wanted.echo);
      made.mark(wanted.echo);
    };
    let dusk = screen.get().dusk;
    show();
    made.setMarks(shownMarks());
    // The view has its size once it is laid out.
    requestAnimationFrame(go);
    const fault = (event: Event): void => trouble((event as CustomEvent<unknown>).detail);
    place.addEventListener('waterfall-fault', fault);
    const stops = [
      imagery.watch(show),
      echoWanted.watch(go),
      watchMarks(() => made.setMarks(shownMarks())),
      echoHover.watch(() => {
        const { echo, from } = echoHover.get();
        if (from === 'chart' || from === 'list') made.mark(echo);
      }),
      screen.watch(() => {
        if (screen.get().dusk === dusk) return;
        dusk = screen.get().dusk;
        requestAnimationFrame(() => made.repaint());
      }),
    ];
    return () => {
      for (const stop of stops) stop();
      place.removeEventListener('waterfall-fault', fault);
      made.dispose();
      view.current = null;
      waterfallSeen.set(null);
    };
  }, []);

  return (
    <section className="waterfall" aria-label="Waterfall">
      <div className="waterfall-tools" role="group" aria-label="Line and tools of the waterfall">
        <RunRow />
        <ToolButtons />
        <WideButton />
      </div>
      <PendingBar />
      <div
        className="waterfall-view"
        ref={host}
        tabIndex={0}
        role="application"
        aria-label="Waterfall, later pings higher up, port left, starboard right: arrow keys move the cursor, with Shift further; Page keys, the wheel and drags go along the line, plus and minus zoom, comma and full stop go to the line before and after. With a tool Enter puts a point."
        onKeyDown={(event) => {
          if (event.ctrlKey || event.metaKey || event.altKey) return;
          if (event.key === ',' || event.key === '.') stepRun(event.key === ',' ? -1 : 1);
          else if (event.key === 'b' || event.key === 'm') setTool(event.key === 'b' ? 'bottom' : 'measure');
          else if (event.key === 'k' && imagery.get().drawn.length > 0) void drawBottomByHand(imagery.get().drawn);
          else if (event.key === 'Escape' && tool !== 'look') setTool(tool);
          else if (!(view.current?.key(event) ?? false)) return;
          event.preventDefault();
          event.stopPropagation();
        }}
      />
      <div className="waterfall-tools" role="group" aria-label="Along the line, and how close">
        <AlongSlider view={view} />
        <button type="button" aria-label="Zoom the waterfall out" title="Zoom out (−)" onClick={() => view.current?.zoom(0.7)}>
          −
        </button>
        <button type="button" aria-label="Zoom the waterfall in" title="Zoom in (+)" onClick={() => view.current?.zoom(1.4)}>
          +
        </button>
        <button type="button" title="The full range, true to scale" onClick={() => view.current?.fit()}>
          Fit
        </button>
      </div>
      <Readout />
      <Look onSave={() => savePng(view.current)} />
      {pings === null && <p className="waterfall-none">{loading ? 'Reading the pings…' : 'No side-scan pings yet.'}</p>}
    </section>
  );
}

function setTool(tool: WaterfallTool): void {
  imagery.update((now) => {
    const next = now.tool === tool ? 'look' : tool;
    // The bottom is drawn where it is heard: in slant range.
    return { ...now, tool: next, drawn: [], ...(next === 'bottom' ? { axis: 'slant' as const, showBottom: true } : {}) };
  });
}

function onClick(echo: Echo): void {
  const now = imagery.get();
  if (now.tool === 'bottom') imagery.update((state) => ({ ...state, drawn: [...state.drawn.filter(({ row }) => row !== echo.row), { row: echo.row, slantM: echo.slantM }].sort((a, b) => a.row - b.row) }));
  else if (now.tool === 'measure') measureStroke([echo], true);
  else if (echoHover.get().from !== 'keys') goToChart(echo);
  else goToEcho(echo, 0, 'list');
}

/** The chart shows where a click in the waterfall was. */
function goToChart(echo: Echo): void {
  goToEcho(echo, 0, 'list');
}

function onStroke(points: readonly Echo[], ended: boolean): void {
  const { tool } = imagery.get();
  if (tool === 'measure') measureStroke(points, ended);
  else if (tool === 'bottom') {
    const drawn = points.map(({ row, slantM }) => ({ row, slantM }));
    if (!ended) imagery.update((now) => ({ ...now, drawn }));
    else if (drawn.length === 0) imagery.update((now) => ({ ...now, drawn: [] }));
    else void drawBottomByHand(drawn);
  }
}

function RunRow() {
  const { pings, runs, run } = useStore(imagery);
  if (pings === null) return null;
  const choices = Object.fromEntries(runs.map((one, k) => [String(k), runText(one, pings)]));
  return (
    <>
      <button type="button" aria-label="Line before" title="Line before (,)" onClick={() => stepRun(-1)}>
        ‹
      </button>
      <select aria-label="Line in the waterfall" value={String(run)} onChange={(event) => showRun(Number(event.target.value))}>
        {Object.entries(choices)
          .sort(([a], [b]) => Number(a) - Number(b))
          .map(([key, words]) => (
            <option key={key} value={key}>
              {words}
            </option>
          ))}
      </select>
      <button type="button" aria-label="Line after" title="Line after (.)" onClick={() => stepRun(1)}>
        ›
      </button>
    </>
  );
}

function ToolButtons() {
  const tool = useStore(imagery, (now) => now.tool);
  const finds = useStore(screen, (now) => now.stage) === 'finds';
  return (
    <>
      <button type="button" aria-pressed={tool === 'bottom'} title="Draw the bottom: drag along it, or click points (b)" onClick={() => setTool('bottom')}>
        <Icon d="M3 6c3 0 3 7 6 7s3-5 8-5M13 14l3 3" /> Draw the bottom
      </button>
      {(finds || tool === 'measure') && (
        <button type="button" aria-pressed={tool === 'measure'} title="Measure: drag along the object, then along its shadow (m)" onClick={() => setTool('measure')}>
          <Icon d="M3 13l10-10 4 4L7 17zM6 10l2 2M9 7l2 2" /> Measure
        </button>
      )}
    </>
  );
}

function WideButton() {
  const wide = useStore(imagery, (now) => now.wide);
  return (
    <button type="button" aria-pressed={wide} title="Give the waterfall most of the table" onClick={() => imagery.update((now) => ({ ...now, wide: !now.wide }))}>
      Wide
    </button>
  );
}

/** What a tool waits for. */
function PendingBar() {
  const tool = useStore(imagery, (now) => now.tool);
  const drawn = useStore(imagery, (now) => now.drawn);
  const measure = useStore(measuring);
  if (tool === 'look') return null;
  if (tool === 'measure') return <p className="waterfall-hint">{measure.shape === null ? 'Drag along the object, from its near end to its far end.' : 'Drag from the object to the end of its shadow; drag again to better it.'}</p>;
  return (
    <div className="waterfall-hint">
      <span>{drawn.length === 0 ? 'Drag along the bottom as you see it, on either side; or click points. The picture is corrected at once.' : `${drawn.length === 1 ? 'One point' : `${drawn.length} points`}: straight between them.`}</span>
      {drawn.length > 0 && (
        <>
          <button type="button" className="main" title="Keep the bottom as drawn (k)" onClick={() => void drawBottomByHand(drawn)}>
            Keep the bottom
          </button>
          <button type="button" onClick={() => imagery.update((now) => ({ ...now, drawn: [] }))}>
            Leave it
          </button>
        </>
      )}
    </div>
  );
}

/** Goes along the line. */
function AlongSlider({ view }: { readonly view: React.RefObject<WaterfallView | null> }) {
  const { runs, run, pings } = useStore(imagery);
  const seen = useStore(waterfallSeen);
  const shown = runs[run];
  if (shown === undefined || pings === null || seen === null) return null;
  const at = Math.round(Math.min(shown.rowEnd - 1, Math.max(shown.rowStart, (seen.rowStart + seen.rowEnd) / 2)));
  return (
    <label className="along">
      <span>Along</span>
      <input type="range" min={shown.rowStart} max={shown.rowEnd - 1} value={at} aria-valuetext={runText(shown, pings)} onChange={(event) => view.current?.goTo(Number(event.target.value))} />
    </label>
  );
}

function Readout() {
  const { echo } = useStore(echoHover);
  const pings = useStore(imagery, (now) => now.pings);
  const frame = useStore(survey, (now) => now.frame);
  const said = pings === null || echo === null || echo.row >= pings.n ? null : echoText(pings, echo, frame);
  return (
    <p className="waterfall-said">
      {said === null || echo === null || pings === null ? (
        <>
          <span>Point at the waterfall or the chart: each shows where the other is.</span>
          <span />
        </>
      ) : (
        <>
          <span>{said.where}</span>
          <span>{said.place === '' ? heightText(pings, echo.row) : said.place}</span>
        </>
      )}
    </p>
  );
}

/** Colours, brightness and contrast of the waterfall and the mosaic: the data stay as they are. */
function Look({ onSave }: { readonly onSave: () => void }) {
  const [open, setOpen] = useState(false);
  const { scale, strongDark, gainDb, contrastDb, showBottom, axis, levels } = useStore(imagery);
  return (
    <details className="waterfall-look" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>How it looks <small>the data stay as they are</small></summary>
      <div>
        <label className="slider">
          <span>Brighter</span>
          <input type="range" min={-20} max={20} step={0.5} value={gainDb} onChange={(event) => imagery.update((now) => ({ ...now, gainDb: Number(event.target.value) }))} />
          <output>{decibels(gainDb)}</output>
        </label>
        <label className="slider">
          <span>Contrast</span>
          <input type="range" min={-60} max={-8} step={1} value={-contrastDb} aria-valuetext={`${contrastDb} dB from dark to light`} onChange={(event) => imagery.update((now) => ({ ...now, contrastDb: -Number(event.target.value) }))} />
          <output>{contrastDb} dB</output>
        </label>
        <InlineChoice label="Across" value={axis} choices={{ slant: 'as heard', ground: 'along the floor' }} onValue={(value) => imagery.update((now) => ({ ...now, axis: value as WaterfallAxis, ...(value === 'ground' && now.tool === 'bottom' ? { tool: 'look' as const, drawn: [] } : {}) }))} />
        <InlineChoice label="Levels" value={levels} choices={{ evened: 'evened out', recorded: 'as recorded' }} onValue={(value) => imagery.update((now) => ({ ...now, levels: value as ImageryState['levels'] }))} />
        <InlineChoice label="Colours" value={scale} choices={Object.fromEntries(COLOUR_SCALES.map((one) => [one, SCALE_WORDS[one]]))} onValue={(value) => imagery.update((now) => ({ ...now, scale: value as ColourScale }))} />
        <i className="scale-bar" style={{ background: scaleGradient(scale, strongDark) }} aria-hidden="true" />
        <label className="tick">
          <input type="checkbox" checked={strongDark} onChange={(event) => imagery.update((now) => ({ ...now, strongDark: event.target.checked }))} />
          Strong echoes dark
        </label>
        <label className="tick">
          <input type="checkbox" checked={showBottom} onChange={(event) => imagery.update((now) => ({ ...now, showBottom: event.target.checked }))} />
          Bottom
        </label>
        <button type="button" onClick={() => imagery.update((now) => ({ ...now, gainDb: 0, contrastDb: 30, strongDark: false }))}>
          As at first
        </button>
        <button type="button" onClick={onSave}>
          Save as PNG
        </button>
      </div>
    </details>
  );
}

function savePng(view: WaterfallView | null): void {
  const picture = view?.picture();
  if (picture === undefined) return;
  picture.toBlob((blob) => blob !== null && download(blob, 'waterfall.png'));
}
