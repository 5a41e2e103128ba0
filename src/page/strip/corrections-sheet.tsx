import { useEffect, useMemo, useRef, useState } from 'react';
import { readPalette } from '../chart/palette.js';
import { download } from '../download.js';
import { corrections, isTold, loadCorrections } from '../state/corrections.js';
import { depths } from '../state/depths.js';
import { hover, screen, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { clock, date, signed } from '../words/figures.js';
import type { LoadedCorrections } from '../work/depths-messages.js';
import { CurvePyramid } from './curve-pyramid.js';
import { nearestRow } from './decimate.js';
import { DepthsStripSwitch } from './depths-strip-switch.js';
import { correctionsLayout, drawCorrections, type CorrectionsPicture } from './draw-corrections.js';
import { CanvasPen, SvgPen } from './pen.js';
import { TimeScale } from './time-scale.js';

/** A longer silence breaks a curve [s]. */
const MAX_GAP_S = 20;

/** Every correction as a curve of its own against time. */
export function CorrectionsSheet() {
  const { loaded, loading } = useStore(corrections);
  const soundings = useStore(survey, (now) => now.soundings);
  const hidden = useStore(depths, (now) => now.hiddenCurves);
  useStore(screen, (now) => now.dusk);
  const { row } = useStore(hover);
  const host = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLCanvasElement>(null);
  const [size, setSize] = useState<readonly [number, number]>([0, 0]);
  const [window, setWindow] = useState<readonly [number, number] | null>(null);
  useEffect(() => void loadCorrections(), [soundings]);
  useEffect(() => {
    const place = host.current;
    if (place === null) return;
    const observer = new ResizeObserver(() => setSize([place.clientWidth, place.clientHeight]));
    observer.observe(place);
    return () => observer.disconnect();
  }, []);
  const curves = useMemo(() => (loaded === null ? [] : loaded.curves.filter(isTold).map((curve) => ({ curve, pyramid: new CurvePyramid(loaded.timeS, curve.valueM, MAX_GAP_S) }))), [loaded]);
  const scale = useMemo(() => new TimeScale(loaded?.timeS ?? []), [loaded]);
  const n = loaded?.timeS.length ?? 0;
  const full: readonly [number, number] = [loaded?.timeS[0] ?? 0, loaded?.timeS[n - 1] ?? 1];
  const picture: CorrectionsPicture | null = loaded === null || size[0] < 100 ? null : { widthPx: size[0], heightPx: size[1], window: window ?? full, scale, curves: curves.filter(({ curve }) => !hidden.includes(curve.column)) };

  useEffect(() => {
    const place = canvas.current;
    const ctx = place?.getContext('2d') ?? null;
    if (place === null || ctx === null || size[0] < 2) return;
    const ratio = devicePixelRatio;
    place.width = Math.round(size[0] * ratio);
    place.height = Math.round(size[1] * ratio);
    ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
    ctx.clearRect(0, 0, size[0], size[1]);
    if (picture !== null) drawCorrections(new CanvasPen(ctx), picture, readPalette(document.documentElement));
  });

  const zoom = (about: number, by: number) => {
    const [from, to] = window ?? full;
    const next: readonly [number, number] = [Math.max(full[0], about - (about - from) * by), Math.min(full[1], about + (to - about) * by)];
    if (next[1] - next[0] > 2) setWindow(next[0] <= full[0] && next[1] >= full[1] ? null : next);
  };
  const at = loaded === null || row < 0 || row >= n ? -1 : row;
  const x = picture !== null && at >= 0 ? correctionsLayout(picture).x(loaded?.timeS[at] as number) : NaN;
  const shown = picture?.curves ?? [];
  return (
    <section className="strip depths-strip" aria-label="Corrections">
      <div
        className="strip-plot profile-plot corrections-plot"
        ref={host}
        tabIndex={0}
        role="slider"
        aria-label="Corrections in order of time: arrow keys step, Page keys jump, plus and minus zoom."
        aria-orientation="horizontal"
        aria-valuemin={0}
        aria-valuemax={Math.max(0, n - 1)}
        aria-valuenow={Math.max(0, at)}
        aria-valuetext={at < 0 ? 'no sounding chosen' : spoken(loaded as LoadedCorrections, at, hidden)}
        onPointerMove={(event) => {
          if (picture === null || loaded === null) return;
          const box = event.currentTarget.getBoundingClientRect();
          const next = nearestRow(loaded.timeS, correctionsLayout(picture).timeAt(event.clientX - box.left));
          if (event.buttons === 1 && window !== null) {
            const by = (event.movementX / box.width) * (window[1] - window[0]);
            setWindow([window[0] - by, window[1] - by]);
          } else if (hover.get().row !== next) hover.set({ row: next, from: 'strip' });
        }}
        onPointerLeave={() => hover.set({ row: -1, from: 'strip' })}
        onDoubleClick={() => setWindow(null)}
        onWheel={(event) => {
          if (picture === null) return;
          zoom(correctionsLayout(picture).timeAt(event.clientX - event.currentTarget.getBoundingClientRect().left), event.deltaY > 0 ? 1.25 : 0.8);
        }}
        onKeyDown={(event) => {
          const steps: Readonly<Record<string, number>> = { ArrowLeft: -1, ArrowRight: 1, PageUp: -Math.round(n / 50), PageDown: Math.round(n / 50), Home: -n, End: n };
          const step = steps[event.key];
          const [from, to] = window ?? full;
          if (step !== undefined) hover.set({ row: Math.min(n - 1, Math.max(0, (at < 0 ? 0 : at) + step)), from: 'keys' });
          else if (event.key === '+' || event.key === '-') zoom(at >= 0 ? (loaded?.timeS[at] as number) : (from + to) / 2, event.key === '+' ? 0.7 : 1.4);
          else return;
          event.preventDefault();
        }}
      >
        <canvas className="profile-canvas" ref={canvas} />
        {Number.isFinite(x) && <div className="strip-marker" style={{ transform: `translateX(${x}px)` }} />}
        {loaded === null && <p className="strip-empty">{loading ? 'Reading the corrections…' : 'There are no corrections to show yet: build the survey.'}</p>}
        {loaded !== null && shown.length === 0 && <p className="strip-empty">{curves.length === 0 ? 'Nothing was corrected: every correction is nought.' : 'Every curve is put away; show them in the sheet.'}</p>}
      </div>
      <div className="strip-foot">
        <p>{at >= 0 && loaded !== null ? spoken(loaded, at, hidden) : `What each correction adds, ${loaded === null ? '' : date(full[0])} UTC · downwards: deeper · dashed: not applied · the wheel zooms`}</p>
        <div className="strip-save" role="group" aria-label="Save the corrections">
          <DepthsStripSwitch />
          <button
            type="button"
            onClick={() => {
              if (picture === null) return;
              const pen = new SvgPen();
              const palette = readPalette(document.documentElement);
              drawCorrections(pen, picture, palette);
              download(new Blob([pen.document(picture.widthPx, picture.heightPx, palette.paper)], { type: 'image/svg+xml' }), 'corrections.svg');
            }}
          >
            SVG
          </button>
          <button type="button" onClick={() => loaded !== null && download(new Blob([...correctionsCsv(loaded, window ?? full)], { type: 'text/csv' }), 'corrections.csv')}>
            CSV
          </button>
        </div>
      </div>
    </section>
  );
}

function spoken({ timeS, curves }: LoadedCorrections, row: number, hidden: readonly string[]): string {
  return [clock(timeS[row] as number), ...curves.filter((curve) => isTold(curve) && !hidden.includes(curve.column)).map(({ label, valueM }) => `${label} ${signed(valueM[row] as number, 2)} m`)].join(' · ');
}

/** The corrections of a stretch of time as CSV, in pieces. */
function* correctionsCsv({ timeS, curves }: LoadedCorrections, window: readonly [number, number]): Generator<string> {
  yield `time_utc,${curves.map(({ column }) => column).join(',')}\n`;
  let piece = '';
  for (let i = 0; i < timeS.length; i++) {
    if ((timeS[i] as number) < window[0] || (timeS[i] as number) > window[1]) continue;
    piece += `${new Date((timeS[i] as number) * 1000).toISOString()},${curves.map(({ valueM }) => (Number.isFinite(valueM[i]) ? (valueM[i] as number).toFixed(4) : '')).join(',')}\n`;
    if (piece.length < 65_536) continue;
    yield piece;
    piece = '';
  }
  yield piece;
}
