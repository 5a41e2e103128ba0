import 'uplot/dist/uPlot.min.css';
import { useEffect, useRef, useState } from 'react';
import { readPalette } from '../chart/palette.js';
import { download } from '../download.js';
import { select } from '../state/decide-soundings.js';
import { hover, screen, session, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { clock, count, date } from '../words/figures.js';
import { readout, reasonLabel } from '../words/readout.js';
import { rowAt } from './decimate.js';
import { DepthsStripSwitch } from './depths-strip-switch.js';
import { soundingsCsv } from './soundings-csv.js';
import { stripSvg } from './strip-svg.js';
import { TimeStrip } from './time-strip.js';
import { depthsBelow } from '../../water/depth-datum.js';

/** How many reasons the caption names; the sheet lists them all. */
const REASONS_SHOWN = 3;

/** The time strip with its caption; also the way to walk through the soundings by keyboard. */
export function StripSheet() {
  const host = useRef<HTMLDivElement>(null);
  const strip = useRef<TimeStrip | null>(null);
  const [window, setWindow] = useState<readonly [number, number] | null>(null);
  const soundings = useStore(survey, (now) => now.soundings);
  const setAside = useStore(survey, (now) => now.summary?.soundings?.setAside);
  const { row } = useStore(hover);

  useEffect(() => {
    const place = host.current;
    if (place === null) return;
    const made = new TimeStrip(place, {
      hover: (at) => {
        if (hover.get().row !== at) hover.set({ row: at, from: 'strip' });
      },
      select: (rows, add) => select(rows, add ? 'add' : 'replace'),
      window: (startS, endS) => setWindow([startS, endS]),
    });
    strip.current = made;
    const mark = () => {
      const at = hover.get().row;
      const columns = survey.get().soundings;
      if (columns === null || at < 0) made.mark(-1, '');
      else {
        const { text, why } = readout(columns, at);
        made.mark(at, why === '' ? text : `${text} · ${why}`);
      }
    };
    let dusk = screen.get().dusk;
    let version = -1;
    const show = () => {
      const now = survey.get();
      if (now.reasonVersion !== version) {
        version = now.reasonVersion;
        made.setSoundings(now.soundings);
      }
      mark();
    };
    const dress = () => {
      const now = screen.get();
      made.setSelecting(now.tool === 'select');
      made.setShowSetAside(now.showSetAside);
      if (now.dusk !== dusk) {
        dusk = now.dusk;
        made.repaint();
      }
    };
    show();
    dress();
    const stops = [survey.watch(show), screen.watch(dress), hover.watch(mark)];
    void document.fonts.load('500 13px "Barlow Semi Condensed"').then(() => made.repaint());
    return () => {
      for (const stop of stops) stop();
      made.dispose();
      strip.current = null;
    };
  }, []);

  const reasons = Object.entries(setAside ?? {})
    .filter(([, n]) => n > 0)
    .sort((a, b) => Number(b[0] === 'by-hand') - Number(a[0] === 'by-hand') || b[1] - a[1]);
  const rest = reasons.slice(REASONS_SHOWN).reduce((sum, [, n]) => sum + n, 0);
  const asideText = [...reasons.slice(0, REASONS_SHOWN).map(([name, n]) => `${reasonLabel(name)} ${count(n)}`), ...(rest > 0 ? [`other reasons ${count(rest)}`] : [])].join(', ');
  const spoken = soundings !== null && row >= 0 ? readout(soundings, row) : null;
  const n = soundings?.n ?? 0;
  const first = soundings?.timeS[0] ?? NaN;
  const last = soundings?.timeS[n - 1] ?? NaN;
  return (
    <section className="strip" aria-label="Time strip">
      <div
        className="strip-plot"
        ref={host}
        tabIndex={0}
        role="slider"
        aria-label="Soundings in order of time. Arrow keys step, Page keys jump, Shift selects, Enter selects one."
        aria-orientation="horizontal"
        aria-valuemin={0}
        aria-valuemax={Math.max(0, n - 1)}
        aria-valuenow={Math.max(0, row)}
        aria-valuetext={spoken === null ? 'no sounding chosen' : `${spoken.text}${spoken.why === '' ? '' : `, ${spoken.why}`}`}
        onKeyDown={(event) => n > 0 && onKey(event, n, strip.current)}
      />
      <div className="strip-foot">
        <p>
          {n === 0 ? 'Reading the soundings…' : `Depth against time, ${date(first)} UTC`} · rings: set aside{asideText === '' ? '' : ` (${asideText})`} · dashed: water level · band: 95{'\u00a0'}% uncertainty
        </p>
        <div className="strip-save" role="group" aria-label="Save the strip">
          {window !== null && (window[0] > first || window[1] < last) && (
            <button
              type="button"
              onClick={() => {
                strip.current?.zoomTo();
                setWindow(null);
              }}
            >
              {clock(window[0])} – {clock(window[1])} · show all
            </button>
          )}
          <DepthsStripSwitch />
          <button type="button" onClick={() => saveSvg(strip.current)}>
            SVG
          </button>
          <button type="button" onClick={() => savePng(strip.current)}>
            PNG
          </button>
          <button type="button" onClick={() => saveCsv(strip.current)}>
            CSV
          </button>
        </div>
      </div>
    </section>
  );
}

function onKey(event: React.KeyboardEvent, n: number, strip: TimeStrip | null): void {
  const now = hover.get().row;
  const big = Math.max(10, Math.round(n / 50));
  const steps: Readonly<Record<string, number>> = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: big, PageUp: -big, Home: -n, End: n };
  const step = steps[event.key];
  if (step === undefined) {
    if (event.key === 'Enter' || event.key === ' ') {
      event.preventDefault();
      if (now >= 0) select([now], session.get().selection.includes(now) ? 'remove' : 'add');
    } else if (event.key === '0') strip?.zoomTo();
    return;
  }
  event.preventDefault();
  const next = Math.min(n - 1, Math.max(0, now < 0 ? 0 : now + step));
  if (event.shiftKey && now >= 0) {
    const from = Math.min(now, next);
    const to = Math.max(now, next);
    select(Array.from({ length: to - from + 1 }, (_, k) => from + k), 'add');
  }
  hover.set({ row: next, from: 'keys' });
}

function saveSvg(strip: TimeStrip | null): void {
  const { soundings, summary } = survey.get();
  const curves = strip?.curves;
  if (strip === null || soundings === null || curves == null) return;
  const [startS, endS] = strip.window;
  const [lowM, highM] = strip.depthRange;
  const palette = readPalette(document.documentElement);
  const rings: { timeS: number; depthM: number }[] = [];
  for (let i = rowAt(soundings.timeS, startS); i < soundings.n && (soundings.timeS[i] as number) <= endS; i++) {
    const depthM = soundings.depthM[i] as number;
    if (soundings.reason[i] !== 0 && Number.isFinite(depthM)) rings.push({ timeS: soundings.timeS[i] as number, depthM: Math.min(highM, Math.max(lowM, depthM)) });
  }
  const svg = stripSvg({
    widthPx: 1200,
    heightPx: 260,
    startS,
    endS,
    scale: strip.scale,
    lowM,
    highM,
    depth: curves.depth,
    water: curves.water,
    rings: screen.get().showSetAside ? rings : [],
    title: `${summary?.settings.name ?? 'survey'}: depth below ${summary === null ? 'datum' : depthsBelow(summary.settings)} against time, ${date(startS)} UTC`,
    colours: { paper: palette.paper, ink: palette.ink, quiet: palette.quiet, hairline: palette.hairline, magenta: palette.magenta, water: palette.waterLevel },
  });
  download(new Blob([svg], { type: 'image/svg+xml' }), 'time-strip.svg');
}

function savePng(strip: TimeStrip | null): void {
  const from = strip?.canvas();
  if (from == null) return;
  const to = document.createElement('canvas');
  to.width = from.width;
  to.height = from.height;
  const ctx = to.getContext('2d');
  if (ctx === null) return;
  ctx.fillStyle = readPalette(document.documentElement).paper;
  ctx.fillRect(0, 0, to.width, to.height);
  ctx.drawImage(from, 0, 0);
  to.toBlob((blob) => blob !== null && download(blob, 'time-strip.png'));
}

function saveCsv(strip: TimeStrip | null): void {
  const { soundings } = survey.get();
  if (strip === null || soundings === null) return;
  const start = rowAt(soundings.timeS, strip.window[0]);
  const end = rowAt(soundings.timeS, strip.window[1]);
  download(new Blob([...soundingsCsv(soundings, start, end)], { type: 'text/csv' }), 'soundings.csv');
}
