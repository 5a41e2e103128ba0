import { useEffect, useRef, useState } from 'react';
import { rowAt } from './decimate.js';
import { TrialStrip } from './trial-strip.js';
import { download } from '../download.js';
import { screen } from '../state/stores.js';
import { hold, moveTrial, selectTrial, settle, stripWanted, trialHover, trials } from '../state/trials.js';
import { useStore } from '../state/store.js';
import { clock, date, duration } from '../words/figures.js';
import { momentText } from '../words/moment.js';
import { trialName, windowText } from '../words/trials.js';
import type { LoadedTrials } from '../work/read-trials.js';
import { StripSwitch } from './strip-switch.js';

/** The log of trials on the strip, linked with chart and sheet; also the way through the trials by keyboard. */
export function TrialStripSheet() {
  const host = useRef<HTMLDivElement>(null);
  const strip = useRef<TrialStrip | null>(null);
  const [window, setWindow] = useState<readonly [number, number] | null>(null);
  const loaded = useStore(trials, (now) => now.loaded);
  const shown = useStore(trials, (now) => now.shown);
  const selected = useStore(trials, (now) => now.selected);

  useEffect(() => {
    const place = host.current;
    if (place === null) return;
    const made = new TrialStrip(place, {
      hover: (timeS, id) => trialHover.set({ id, timeS, from: 'strip' }),
      select: (id) => selectTrial(id, 'strip'),
      hold: (held) => hold(held === null ? null : moveTrial(held.trial, held)),
      settle: (held) => void settle(moveTrial(held.trial, held)),
      span: (span) => trials.update((now) => ({ ...now, span, ...(span === null ? {} : { tab: 'trials' as const, selected: null, plots: [], plotsOf: [] }) })),
      window: (startS, endS) => setWindow([startS, endS]),
    });
    strip.current = made;
    const show = () => {
      const now = trials.get();
      made.setLoaded(now.loaded);
      made.setTrials(now.shown, now.selected, now.lit);
      made.setSpan(now.span);
    };
    const mark = () => {
      const { id, timeS } = trialHover.get();
      const now = trials.get();
      made.setHovered(id);
      made.mark(timeS, now.loaded === null || Number.isNaN(timeS) ? '' : momentText(now.loaded, timeS));
    };
    let dusk = screen.get().dusk;
    const dress = () => {
      if (screen.get().dusk === dusk) return;
      dusk = screen.get().dusk;
      made.repaint();
    };
    const reveal = () => {
      const wanted = stripWanted.get();
      if (wanted === null) return;
      requestAnimationFrame(() => made.reveal(wanted.startS, wanted.endS, wanted.always));
    };
    show();
    const stops = [trials.watch(show), trialHover.watch(mark), screen.watch(dress), stripWanted.watch(reveal)];
    reveal();
    void Promise.all(['500 13px', '600 13px'].map((font) => document.fonts.load(`${font} "Barlow Semi Condensed"`))).then(() => made.repaint());
    return () => {
      for (const stop of stops) stop();
      made.dispose();
      strip.current = null;
    };
  }, []);

  const n = shown.length;
  const at = shown.findIndex(({ id }) => id === selected);
  const trial = shown[at];
  const first = loaded?.log.timeS[0] ?? NaN;
  const last = loaded?.log.timeS[loaded.log.n - 1] ?? NaN;
  const zoomed = window !== null && (window[0] > first || window[1] < last);
  return (
    <section className="strip trial-strip" aria-label="Time strip of the trials">
      <div
        className="trial-walk"
        tabIndex={0}
        role="slider"
        aria-label="Trials in order of time. Arrow keys choose one; its edges are next in order."
        aria-orientation="horizontal"
        aria-valuemin={0}
        aria-valuemax={Math.max(0, n - 1)}
        aria-valuenow={Math.max(0, at)}
        title="Wheel zooms, with Shift it moves along; double click shows all"
        aria-valuetext={trial === undefined ? 'no trial chosen' : `${trialName(trial, shown)}, ${windowText(trial)}`}
        onKeyDown={(event) => {
          const step = { ArrowLeft: -1, ArrowUp: -1, ArrowRight: 1, ArrowDown: 1, Home: -n, End: n }[event.key];
          if (event.key === '0') strip.current?.zoomTo();
          if (step === undefined || n === 0) return;
          event.preventDefault();
          selectTrial(shown[Math.min(n - 1, Math.max(0, at < 0 ? 0 : at + step))]?.id ?? null, 'sheet');
        }}
      />
      <div className="strip-plot" ref={host} />
      <div className="strip-foot">
        <p>
          {loaded === null ? 'Reading the trials…' : `${date(first)} UTC, ${duration(last - first)} · drag an edge to correct a trial, a span to add one`}
        </p>
        <div className="strip-save" role="group" aria-label="The strip">
          {zoomed && window !== null && (
            <button type="button" title={`Shown: ${clock(window[0])} to ${clock(window[1])}`} onClick={() => strip.current?.zoomTo()}>
              Show all
            </button>
          )}
          <StripSwitch />
          <button type="button" onClick={() => strip.current !== null && download(new Blob([strip.current.svg(1200, 380, `Trials of ${date(first)}, UTC`)], { type: 'image/svg+xml' }), 'trials-strip.svg')}>
            SVG
          </button>
          <button type="button" onClick={() => strip.current?.canvas().toBlob((blob) => blob !== null && download(blob, 'trials-strip.png'))}>
            PNG
          </button>
          <button type="button" onClick={() => loaded !== null && strip.current !== null && download(new Blob([logCsv(loaded, strip.current.window)], { type: 'text/csv' }), 'trial-log.csv')}>
            CSV
          </button>
        </div>
      </div>
    </section>
  );
}

/** The log in a window of time as CSV, units in the header. */
function logCsv({ log, groundMps }: LoadedTrials, [startS, endS]: readonly [number, number]): string {
  const columns = { time_utc_s: log.timeS, x_m: log.xM, y_m: log.yM, speed_over_ground_mps: groundMps, heading_deg: log.headingDeg, speed_through_water_mps: log.speedThroughWaterMps, thruster_port_pct: log.thrusterPortPct, thruster_starboard_pct: log.thrusterStarboardPct, battery_v: log.batteryVoltageV, battery_a: log.batteryCurrentA };
  const rows = [Object.keys(columns).join(',')];
  const all = Object.values(columns);
  const end = rowAt(log.timeS, endS);
  for (let i = rowAt(log.timeS, startS); i < end; i++) rows.push(all.map((column, k) => (Number.isFinite(column[i]) ? (k === 0 ? (column[i] as number).toFixed(2) : String(Number((column[i] as number).toPrecision(9)))) : '')).join(','));
  return `${rows.join('\n')}\n`;
}
