import { useEffect, useRef } from 'react';
import { readPalette } from '../chart/palette.js';
import { runWords } from '../chart/depths-chart.js';
import { download } from '../download.js';
import { rowsOfLine } from '../select/runs.js';
import { NumberField } from '../sheets/parts.js';
import { depths, goToFlagged, runsNow, showRunOf, stretchWindowS } from '../state/depths.js';
import { select } from '../state/decide-soundings.js';
import { hover, screen, session, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { DepthsStripSwitch } from '../strip/depths-strip-switch.js';
import { soundingsCsv } from '../strip/soundings-csv.js';
import { readout } from '../words/readout.js';
import { alongRun, neighboursOf, NO_NEIGHBOURS, type Profile } from './profile-data.js';
import { ProfileView } from './profile-view.js';

/** No more neighbours than this are drawn. */
const NEIGHBOURS_MAX = 40_000;
/** Neighbours are looked for once the run has stood for this long [ms]. */
const NEIGHBOURS_MS = 60;

/** The profile of one run below the chart. */
export function ProfileSheet() {
  const host = useRef<HTMLDivElement>(null);
  const view = useRef<ProfileView | null>(null);
  const run = useStore(depths, (now) => now.run);
  const byDistance = useStore(depths, (now) => now.byDistance);
  const neighboursM = useStore(depths, (now) => now.neighboursM);
  const soundings = useStore(survey, (now) => now.soundings);
  const { row } = useStore(hover);

  useEffect(() => {
    const place = host.current;
    if (place === null) return;
    const made = new ProfileView(place, {
      hover: (at) => {
        if (hover.get().row !== at) hover.set({ row: at, from: 'profile' });
      },
      click: (at, mode) => {
        const { soundings: columns } = survey.get();
        if (columns === null || at < 0) select([], mode);
        else select(screen.get().tool === 'line' ? rowsOfLine(columns, runsNow(), at) : [at], mode);
      },
      select,
      window: () => undefined,
    });
    view.current = made;
    let profile: Profile | null = null;
    let timer: ReturnType<typeof setTimeout> | undefined;
    let made4: { readonly xM: object | null; readonly run: object | null; readonly byDistance: boolean; readonly neighboursM: number } | null = null;
    const show = () => {
      const { soundings: columns, index } = survey.get();
      const now = depths.get();
      if (now.run === null && columns !== null && columns.n > 0) {
        // Something to begin with: the line that is selected, or the first one.
        const first = runsNow().find(({ line }) => line >= 0) ?? runsNow()[0];
        showRunOf(session.get().selection[0] ?? first?.rowStart ?? 0);
        if (depths.get().run !== null) show();
        return;
      }
      const key = { xM: columns?.xM ?? null, run: now.run, byDistance: now.byDistance, neighboursM: now.neighboursM };
      const kept = made4 !== null && made4.xM === key.xM && made4.run === key.run && made4.byDistance === key.byDistance && made4.neighboursM === key.neighboursM;
      if (kept) {
        made.setProfile(columns, profile);
        return;
      }
      made4 = key;
      clearTimeout(timer);
      const { run: shown } = now;
      if (columns === null || shown === null || shown.rowEnd > columns.n) {
        profile = null;
        made.setProfile(columns, null);
        return;
      }
      const along = alongRun(columns, shown, now.byDistance);
      profile = { run: shown, byDistance: now.byDistance, along, neighbours: NO_NEIGHBOURS };
      made.setProfile(columns, profile);
      if (index === null || now.neighboursM <= 0) return;
      timer = setTimeout(() => {
        profile = { run: shown, byDistance: now.byDistance, along, neighbours: neighboursOf(columns, shown, along, now.neighboursM, (x, y, reach) => index.within(x, y, reach), NEIGHBOURS_MAX) };
        made.setProfile(columns, profile);
      }, NEIGHBOURS_MS);
    };
    let asked = -1;
    const look = () => {
      const { look: wanted } = depths.get();
      if (wanted === null || wanted.asked === asked) return;
      asked = wanted.asked;
      const [fromS, toS] = stretchWindowS(wanted.stretch);
      const [from, to] = [made.alongAt(fromS), made.alongAt(toS)];
      if (Number.isFinite(from) && Number.isFinite(to)) made.zoomTo(from, to);
    };
    let { soundings: shownSoundings, reasonVersion } = survey.get();
    let selection = session.get().selection;
    let dusk = screen.get().dusk;
    show();
    look();
    made.setSelection(selection);
    made.setTool(screen.get().tool, depths.get().brushPx);
    const stops = [
      survey.watch(() => {
        const now = survey.get();
        if (now.soundings === shownSoundings && now.reasonVersion === reasonVersion) return;
        shownSoundings = now.soundings;
        reasonVersion = now.reasonVersion;
        show();
        made.setSelection(session.get().selection);
      }),
      depths.watch(() => {
        show();
        look();
        made.setTool(screen.get().tool, depths.get().brushPx);
      }),
      session.watch(() => {
        if (session.get().selection === selection) return;
        selection = session.get().selection;
        made.setSelection(selection);
      }),
      screen.watch(() => {
        made.setTool(screen.get().tool, depths.get().brushPx);
        if (screen.get().dusk === dusk) return;
        dusk = screen.get().dusk;
        requestAnimationFrame(() => made.repaint());
      }),
      hover.watch(() => made.mark(hover.get().row)),
    ];
    return () => {
      for (const stop of stops) stop();
      clearTimeout(timer);
      made.dispose();
      view.current = null;
    };
  }, []);

  const spoken = soundings !== null && row >= 0 && row < soundings.n ? readout(soundings, row) : null;
  const step = (by: 1 | -1) => {
    const runs = runsNow().filter(({ line }) => line >= 0);
    const at = runs.findIndex((one) => one === run);
    const next = runs[(at + by + runs.length) % runs.length];
    if (next !== undefined) showRunOf(next.rowStart);
  };
  return (
    <section className="strip depths-strip" aria-label="Profile">
      <div
        className="strip-plot profile-plot"
        ref={host}
        tabIndex={0}
        role="application"
        aria-label={`Profile, depth against ${byDistance ? 'distance' : 'time'}: ${run === null || soundings === null ? 'no line chosen' : runWords(run.line, run.rowEnd - run.rowStart)}. Arrow keys step through its soundings, plus and minus zoom, Page keys move along, n and p go through what is set aside, Enter selects.`}
        onKeyDown={(event) => {
          if (event.ctrlKey || event.metaKey || event.altKey) return;
          const now = hover.get().row;
          if (event.key === 'n' || event.key === 'p') goToFlagged(event.key === 'n' ? 1 : -1);
          else if ((event.key === 'ArrowLeft' || event.key === 'ArrowRight') && run !== null) {
            const by = event.key === 'ArrowLeft' ? -1 : 1;
            const next = now < run.rowStart || now >= run.rowEnd ? run.rowStart : Math.min(run.rowEnd - 1, Math.max(run.rowStart, now + by));
            if (event.shiftKey) select([now, next].filter((one) => one >= 0), 'add');
            hover.set({ row: next, from: 'keys' });
          } else if (event.key === 'Enter' && now >= 0) select([now], session.get().selection.includes(now) ? 'remove' : 'add');
          else if (!(view.current?.key(event) ?? false)) return;
          event.preventDefault();
        }}
      />
      <div className="strip-foot">
        <div className="profile-ways" role="group" aria-label="Which line">
          <button type="button" aria-label="Line before" onClick={() => step(-1)}>
            ‹
          </button>
          <strong>{run === null || soundings === null ? '' : runWords(run.line, run.rowEnd - run.rowStart)}</strong>
          <button type="button" aria-label="Line after" onClick={() => step(1)}>
            ›
          </button>
          <button type="button" aria-pressed={!byDistance} onClick={() => depths.update((now) => ({ ...now, byDistance: !now.byDistance, look: null }))}>
            {byDistance ? 'By time' : 'By distance'}
          </button>
          <NumberField label="Neighbours within" unit="m" value={neighboursM} min={0} max={200} step={1} decimals={1} settled onValue={(value) => depths.update((now) => ({ ...now, neighboursM: value ?? 0 }))} />
          <span className="profile-said">{spoken === null ? 'rings: set aside · blue: other lines' : `${spoken.text}${spoken.why === '' ? '' : ` · ${spoken.why}`}`}</span>
        </div>
        <div className="strip-save" role="group" aria-label="Save the profile">
          <DepthsStripSwitch />
          <button type="button" onClick={() => savePng(view.current)}>
            PNG
          </button>
          <button
            type="button"
            onClick={() => {
              if (soundings !== null && run !== null) download(new Blob([...soundingsCsv(soundings, run.rowStart, run.rowEnd)], { type: 'text/csv' }), run.line >= 0 ? `line-${run.line}.csv` : 'soundings.csv');
            }}
          >
            CSV
          </button>
        </div>
      </div>
    </section>
  );
}

function savePng(view: ProfileView | null): void {
  const from = view?.canvas();
  if (from === undefined) return;
  const to = document.createElement('canvas');
  to.width = from.width;
  to.height = from.height;
  const ctx = to.getContext('2d');
  if (ctx === null) return;
  ctx.fillStyle = readPalette(document.documentElement).paper;
  ctx.fillRect(0, 0, to.width, to.height);
  ctx.drawImage(from, 0, 0);
  to.toBlob((blob) => blob !== null && download(blob, 'profile.png'));
}
