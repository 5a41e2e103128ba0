import { useEffect, useMemo, useRef, useState } from 'react';
import { readPalette } from '../chart/palette.js';
import { concernMarks, worstOf } from '../chart/rehearse-marks.js';
import { download } from '../download.js';
import { rehearsal, rehearseHover, settingsNow, shownOf } from '../state/rehearsal.js';
import { screen, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { clock, date, duration } from '../words/figures.js';
import { rehearsedMoment } from '../words/rehearse.js';
import { CanvasPen, SvgPen } from './pen.js';
import { drawRehearse, rehearseLayout, type RehearsePicture } from './rehearse-draw.js';
import { panelValue, rehearsalCsv, rehearsePanels } from './rehearse-panels.js';

/** Arrow keys move by this much [s]. */
const STEP_S = 10;
const BIG_STEP_S = 120;

/** The rehearsal against time: energy, water, current, link, speed, sun; a moment pointed at is shown on the chart, and the other way round. */
export function RehearseStrip() {
  const state = useStore(rehearsal);
  const summary = useStore(survey, (now) => now.summary);
  const dusk = useStore(screen, (now) => now.dusk);
  const host = useRef<HTMLDivElement>(null);
  const curves = useRef<HTMLCanvasElement>(null);
  const top = useRef<HTMLCanvasElement>(null);
  const walk = useRef<HTMLDivElement>(null);
  const [size, setSize] = useState<readonly [number, number]>([0, 0]);
  useEffect(() => {
    const place = host.current;
    if (place === null) return;
    const observer = new ResizeObserver(() => setSize([place.clientWidth, place.clientHeight]));
    observer.observe(place);
    return () => observer.disconnect();
  }, []);

  const shown = shownOf(state);
  const picture = useMemo(() => {
    const first = shown?.sorties[0];
    const last = shown?.sorties[shown.sorties.length - 1];
    if (shown === null || summary === null || first === undefined || last === undefined || !(last.totals.endS > first.totals.startS)) return null;
    return {
      startS: first.totals.startS,
      endS: last.totals.endS,
      shown,
      panels: rehearsePanels(shown, settingsNow(rehearsal.get(), summary)),
      concerns: concernMarks(shown),
      worstS: worstOf(shown)?.moment.timeS ?? NaN,
    };
  }, [shown, summary]);
  const sized: RehearsePicture | null = useMemo(() => (picture === null || size[0] < 100 ? null : { ...picture, widthPx: size[0], heightPx: size[1] }), [picture, size]);

  useEffect(() => {
    const canvas = curves.current;
    if (canvas === null) return;
    const draw = () => {
      const ctx = fresh(canvas, size);
      if (ctx !== null && sized !== null) drawRehearse(new CanvasPen(ctx), sized, readPalette(document.documentElement));
    };
    draw();
    let gone = false;
    void document.fonts.load('500 12px "Barlow Semi Condensed"').then(() => !gone && draw());
    return () => {
      gone = true;
    };
  }, [sized, size, dusk]);

  useEffect(() => {
    const canvas = top.current;
    if (canvas === null) return;
    const palette = readPalette(document.documentElement);
    const mark = () => {
      const ctx = fresh(canvas, size);
      const { timeS } = rehearseHover.get();
      walk.current?.setAttribute('aria-valuenow', String(Math.round(Number.isNaN(timeS) ? (sized?.startS ?? 0) : timeS)));
      walk.current?.setAttribute('aria-valuetext', Number.isNaN(timeS) || sized === null ? 'no moment chosen' : rehearsedMoment(sized.shown.sorties, timeS));
      if (ctx === null || sized === null || Number.isNaN(timeS) || timeS < sized.startS || timeS > sized.endS) return;
      const layout = rehearseLayout(sized);
      const pen = new CanvasPen(ctx);
      layout.columns.forEach((_, k) => {
        const x = layout.x(k, timeS);
        pen.line([[x, layout.laneTop], [x, layout.bottom]], palette.magenta, 1.3);
      });
      layout.columns.forEach(({ left, right }, k) => {
        const x = Math.max(left, Math.min(right - 54, layout.x(k, timeS) - 27));
        pen.fill([[x - 4, layout.bottom + 2], [x + 58, layout.bottom + 2], [x + 58, layout.bottom + 21], [x - 4, layout.bottom + 21]], palette.paper, 1);
        pen.text(clock(timeS), x + 27, layout.bottom + 16, palette.magenta, { align: 'middle', size: 13, weight: 600 });
      });
      sized.panels.forEach((panel, k) => {
        const { text, value } = panelValue(panel, timeS);
        if (text === '') return;
        const { column, top: y } = layout.boxes[k] as { column: number; top: number };
        const { right } = layout.columns[column] as { right: number };
        pen.dot(layout.x(column, timeS), layout.y(k, value), 3.4, palette.magenta);
        const width = ctx.measureText(text).width * 1.04 + 6;
        pen.fill([[right - width, y - 17], [right, y - 17], [right, y - 2], [right - width, y - 2]], palette.paper, 0.92);
        pen.text(text, right, y - 5, palette.magenta, { align: 'end', size: 13, weight: 600 });
      });
    };
    mark();
    return rehearseHover.watch(mark);
  }, [sized, size, dusk]);

  const pointAt = (event: React.PointerEvent) => {
    if (sized === null) return;
    const box = event.currentTarget.getBoundingClientRect();
    rehearseHover.set({ timeS: rehearseLayout(sized).timeAt(event.clientX - box.left), from: 'strip' });
  };
  const svg = () => {
    if (picture === null) return;
    const pen = new SvgPen();
    const palette = readPalette(document.documentElement);
    drawRehearse(pen, { ...picture, widthPx: 1200, heightPx: 420 }, palette);
    download(new Blob([pen.document(1200, 420, palette.paper)], { type: 'image/svg+xml' }), 'rehearsal.svg');
  };
  const png = () => {
    if (picture === null) return;
    const canvas = document.createElement('canvas');
    [canvas.width, canvas.height] = [2400, 840];
    const ctx = canvas.getContext('2d');
    if (ctx === null) return;
    const palette = readPalette(document.documentElement);
    ctx.scale(2, 2);
    ctx.fillStyle = palette.paper;
    ctx.fillRect(0, 0, 1200, 420);
    drawRehearse(new CanvasPen(ctx), { ...picture, widthPx: 1200, heightPx: 420 }, palette);
    canvas.toBlob((blob) => blob !== null && download(blob, 'rehearsal.png'));
  };
  return (
    <section className="strip rehearse-strip" aria-label="Time strip of the rehearsal">
      <div
        className="rehearse-walk"
        ref={walk}
        tabIndex={0}
        role="slider"
        aria-label="Moments of the sorties. Arrow keys move by ten seconds, Page keys by two minutes."
        aria-orientation="horizontal"
        aria-valuemin={Math.round(picture?.startS ?? 0)}
        aria-valuemax={Math.round(picture?.endS ?? 0)}
        aria-valuenow={Math.round(picture?.startS ?? 0)}
        onKeyDown={(event) => {
          if (picture === null) return;
          const step = { ArrowLeft: -STEP_S, ArrowDown: -STEP_S, ArrowRight: STEP_S, ArrowUp: STEP_S, PageDown: -BIG_STEP_S, PageUp: BIG_STEP_S, Home: -Infinity, End: Infinity }[event.key];
          if (step === undefined) return;
          event.preventDefault();
          const now = rehearseHover.get().timeS;
          const from = Number.isNaN(now) ? picture.startS - (step > 0 ? STEP_S : 0) : now;
          rehearseHover.set({ timeS: Math.max(picture.startS, Math.min(picture.endS, from + step)), from: 'keys' });
        }}
      />
      <div className="strip-plot" ref={host} onPointerMove={pointAt} onPointerDown={pointAt} onPointerLeave={() => rehearseHover.set({ timeS: NaN, from: 'strip' })}>
        <canvas ref={curves} aria-hidden="true" />
        <canvas ref={top} aria-hidden="true" />
      </div>
      <div className="strip-foot">
        <p>
          {picture === null || shown === null
            ? 'Nothing is rehearsed yet'
            : `${date(picture.startS)}, ${clock(picture.startS, false)} to ${clock(picture.endS, false)} UTC, ${duration(picture.endS - picture.startS)} · band: 95\u00a0% · ${shown.from === 'saved' ? 'dotted: worst moment' : 'followed quickly, not saved yet'}`}
        </p>
        <div className="strip-save" role="group" aria-label="Save the rehearsal">
          <button type="button" disabled={picture === null} onClick={svg}>
            SVG
          </button>
          <button type="button" disabled={picture === null} onClick={png}>
            PNG
          </button>
          <button type="button" disabled={shown === null} onClick={() => shown !== null && download(new Blob([rehearsalCsv(shown)], { type: 'text/csv' }), 'rehearsal.csv')}>
            CSV
          </button>
        </div>
      </div>
    </section>
  );
}

function fresh(canvas: HTMLCanvasElement, [widthPx, heightPx]: readonly [number, number]): CanvasRenderingContext2D | null {
  const ratio = devicePixelRatio;
  const [width, height] = [Math.round(widthPx * ratio), Math.round(heightPx * ratio)];
  if (canvas.width !== width) canvas.width = width;
  if (canvas.height !== height) canvas.height = height;
  const ctx = canvas.getContext('2d');
  ctx?.setTransform(ratio, 0, 0, ratio, 0, 0);
  ctx?.clearRect(0, 0, widthPx, heightPx);
  return ctx;
}
