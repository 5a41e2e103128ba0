import { useEffect, useRef, useState } from 'react';
import { REASONS } from '../../depths/soundings.js';
import { rowsOfLine } from '../select/runs.js';
import { select } from '../state/decide-soundings.js';
import { InlineChoice } from '../sheets/inline-choice.js';
import { depths, goToFlagged, placeLooked, runsNow, showRunOf } from '../state/depths.js';
import { hover, screen, session, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { fixed } from '../words/figures.js';
import { readout } from '../words/readout.js';
import { exaggerate, type Camera } from './camera.js';
import { cssColour, type ColourBy, type FlaggedShown } from './point-colours.js';
import { PointsView } from './points-view.js';

/** The soundings as points in space, beside the chart. */
export function PointsSheet() {
  const host = useRef<HTMLDivElement>(null);
  const view = useRef<PointsView | null>(null);
  const [camera, setCamera] = useState<Camera | null>(null);
  const { row } = useStore(hover);
  const soundings = useStore(survey, (now) => now.soundings);
  const loading = useStore(survey, (now) => now.loading);

  useEffect(() => {
    const place = host.current;
    if (place === null) return;
    let said: ReturnType<typeof setTimeout> | undefined;
    const made = new PointsView(place, {
      hover: (at) => {
        if (hover.get().row !== at) hover.set({ row: at, from: 'points' });
      },
      click: (at, mode) => {
        const { soundings: columns } = survey.get();
        if (at >= 0) showRunOf(at);
        if (columns === null || at < 0) select([], mode);
        else select(screen.get().tool === 'line' ? rowsOfLine(columns, runsNow(), at) : [at], mode);
      },
      select,
      camera: (now) => {
        clearTimeout(said);
        said = setTimeout(() => setCamera(now), 80);
      },
    });
    view.current = made;
    let { reasonVersion, soundings: shown } = { reasonVersion: -1, soundings: survey.get().soundings };
    let selection = session.get().selection;
    const show = () => {
      const now = survey.get();
      if (now.reasonVersion === reasonVersion && now.soundings === shown) return;
      reasonVersion = now.reasonVersion;
      shown = now.soundings;
      made.setSoundings(now.soundings, session.get().selection);
    };
    const dress = () => {
      made.setTool(screen.get().tool, depths.get().brushPx);
      made.setLook(depths.get().colourBy, depths.get().flagged);
    };
    let dusk = screen.get().dusk;
    show();
    dress();
    setCamera(made.camera);
    const stops = [
      survey.watch(show),
      session.watch(() => {
        if (session.get().selection === selection) return;
        selection = session.get().selection;
        made.setSelection(selection);
      }),
      depths.watch(dress),
      screen.watch(() => {
        dress();
        if (screen.get().dusk === dusk) return;
        dusk = screen.get().dusk;
        // The document takes on the palette after this.
        requestAnimationFrame(() => made.repaint());
      }),
      hover.watch(() => made.mark(hover.get().row)),
      placeLooked.watch(() => {
        const now = placeLooked.get();
        if (now !== null) made.lookAt(now.xM, now.yM, now.depthM, now.reachM);
      }),
    ];
    return () => {
      for (const stop of stops) stop();
      clearTimeout(said);
      made.dispose();
      view.current = null;
    };
  }, []);

  const spoken = soundings !== null && row >= 0 && row < soundings.n ? readout(soundings, row) : null;
  return (
    <section className="points" aria-label="Points in space">
      <div className="points-head">
        <InlineChoice label="Colour" value={useStore(depths, (now) => now.colourBy)} choices={{ depth: 'depth', reason: 'reason', line: 'line' }} onValue={(colourBy) => depths.update((now) => ({ ...now, colourBy: colourBy as ColourBy }))} />
        <InlineChoice label="Set aside" value={useStore(depths, (now) => now.flagged)} choices={{ shown: 'shown', ghost: 'faint', hidden: 'hidden' }} onValue={(flagged) => depths.update((now) => ({ ...now, flagged: flagged as FlaggedShown }))} />
        <span className="points-high" role="group" aria-label="Depths drawn higher">
          <button type="button" aria-label="Draw depths less high" title="Less high (Page Down)" onClick={() => view.current?.change((now) => exaggerate(now, 0.8))}>
            −
          </button>
          <output>{camera === null ? '' : `×${fixed(camera.exaggeration, camera.exaggeration < 10 ? 1 : 0)}`}</output>
          <button type="button" aria-label="Draw depths higher" title="Higher (Page Up)" onClick={() => view.current?.change((now) => exaggerate(now, 1.25))}>
            +
          </button>
        </span>
        <button type="button" onClick={() => view.current?.fit()}>
          Whole
        </button>
        <button type="button" aria-label="Close the points" title="Close" onClick={() => depths.update((now) => ({ ...now, points: false }))}>
          ×
        </button>
      </div>
      <div
        className="points-view"
        ref={host}
        tabIndex={0}
        role="application"
        aria-label="Soundings in space: arrow keys turn the view, Shift and arrow keys move it, plus and minus zoom, Page keys draw depths higher or less high, n and p go through what is set aside."
        onKeyDown={(event) => {
          if (event.ctrlKey || event.metaKey || event.altKey) return;
          if (event.key === 'n' || event.key === 'p') goToFlagged(event.key === 'n' ? 1 : -1);
          else if (!(view.current?.key(event) ?? false)) return;
          event.preventDefault();
        }}
      />
      <PointsLegend view={view.current} />
      <p className="points-said">{spoken === null ? (loading === null ? 'Drag turns, Shift and drag moves, the wheel zooms' : `Reading ${loading}…`) : `${spoken.text}${spoken.why === '' ? '' : ` · ${spoken.why}`}`}</p>
    </section>
  );
}

/** What the colours say. */
function PointsLegend({ view }: { readonly view: PointsView | null }) {
  const colourBy = useStore(depths, (now) => now.colourBy);
  const flagged = useStore(depths, (now) => now.flagged);
  const setAside = useStore(survey, (now) => now.summary?.soundings?.setAside);
  useStore(screen, (now) => now.dusk);
  const cloud = view?.cloud ?? null;
  if (view === null || cloud === null) return null;
  const { colours } = view;
  const reasons = REASONS.filter(({ name, code }) => code !== 0 && (setAside?.[name] ?? 0) > 0);
  return (
    <div className="points-legend" aria-hidden="true">
      {colourBy === 'depth' && (
        <p>
          {fixed(cloud.shoalM, 1)} <i className="ramp" style={{ background: `linear-gradient(90deg, ${colours.ramp.map(cssColour).join(', ')})` }} /> {fixed(cloud.deepM, 1)} m
        </p>
      )}
      {colourBy === 'line' && <p>A colour for each line</p>}
      {(colourBy === 'reason' || flagged !== 'hidden') && colourBy !== 'line' && (
        <p>
          {reasons.map(({ code, label }) => (
            <span key={code}>
              <i style={{ background: cssColour(colours.reasons[code] ?? [0, 0, 0]) }} />
              {label}
            </span>
          ))}
        </p>
      )}
    </div>
  );
}
