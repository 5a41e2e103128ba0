import { useEffect, useState } from 'react';
import { build } from '../state/actions.js';
import { download } from '../download.js';
import { takeFiles } from '../drop-zone.js';
import { closeDraft, openDraft, openRing, savePlan, setDraftArea, setDraftOption, startAt } from '../state/plan.js';
import { screen, session, survey, type PlanDraft } from '../state/stores.js';
import { useStore } from '../state/store.js';
import type { LinesSummary } from '../../survey/summary.js';
import { areaText, count, duration, fixed, lengthText, percent, plural, speed } from '../words/figures.js';
import { nextLinesThing } from '../words/stages.js';
import { polygonAreaM2 } from '../../geo/ring.js';
import { linesGeoJson, linesGpx, type NamedLine } from './lines-files.js';
import { LinesNoGo } from './lines-no-go.js';
import { LinesPlaces } from './lines-places.js';
import { LinesPurpose, LinesReasons } from './lines-purpose.js';
import { LinesSorties, sortieRows, useSorties } from './lines-sorties.js';
import { FileButton, Figures, NextButton, NumberField, Sheet, UndoRow, WorkState, type FigureRow } from './parts.js';

/** Lines: the area, how to sweep it, and what that takes; planned anew as the area is dragged. */
export function LinesSheet() {
  const summary = useStore(survey, (now) => now.summary);
  const frame = useStore(survey, (now) => now.frame);
  const areaShapes = useStore(survey, (now) => now.shapes.area);
  const loading = useStore(survey, (now) => now.loading);
  const plan = useStore(session, (now) => now.plan);
  const tool = useStore(screen, (now) => now.tool);
  useEffect(() => {
    if (summary === null || loading !== null) return;
    if (session.get().plan?.changed !== true) closeDraft();
    openDraft();
  }, [summary, areaShapes, loading]);

  const sorties = useSorties(plan);
  const hasArea = (plan?.area.length ?? 0) > 0;
  const next = nextLinesThing(summary, { hasArea, changed: plan?.changed ?? false, mainLines: plan?.planned?.plan.main.length ?? 0 });
  const draw = () => screen.update((now) => ({ ...now, tool: now.tool === 'draw' ? 'look' : 'draw' }));
  return (
    <Sheet title="Lines" lead={hasArea ? 'Drag the area on the chart: the lines follow. Nothing is kept until it is saved.' : 'What is to be surveyed? Draw it on the chart, or drop a GeoJSON, KML or GPX file of it.'}>
      <WorkState />
      {frame === null && <Where />}
      <div className="small-actions first">
        <button type="button" disabled={frame === null} aria-pressed={tool === 'draw'} onClick={draw}>
          {tool === 'draw' ? 'Stop drawing' : hasArea ? 'Draw anew' : 'Draw the area'}
        </button>
        {hasArea && (
          <button type="button" aria-pressed={tool === 'edit'} onClick={() => screen.update((now) => ({ ...now, tool: now.tool === 'edit' ? 'look' : 'edit' }))}>
            {tool === 'edit' ? 'Stop editing' : 'Edit the area'}
          </button>
        )}
        <FileButton accept=".geojson,.json,.kml,.gpx" multiple={false} onFiles={takeFiles}>
          From a file…
        </FileButton>
      </div>
      {tool === 'draw' && <p className="hint">Click each corner; click the first again, or double-click, to close. Escape stops.</p>}
      {tool === 'edit' && <p className="hint">Drag a corner, or drag a side to make a new one; Alt and click takes one away.</p>}
      {plan !== null && summary !== null && <LinesPurpose plan={plan} summary={summary} />}
      {plan !== null && <Options plan={plan} />}
      {plan !== null && <LinesReasons plan={plan} />}
      {plan?.fault != null && (
        <p className="note bad" role="alert">
          {plan.fault}
        </p>
      )}
      {plan !== null && <Figures rows={withSorties(plan.changed || summary?.lines == null ? planRows(plan) : savedRows(plan, summary.lines, summary.settings.lines.speedMps), sortieRows(sorties, summary))} label="Figures of the plan" />}
      {hasArea && sorties !== null && <LinesSorties shown={sorties} />}
      {plan?.changed === true && plan.planned?.plan.notes[0] !== undefined && <p className="note">{plan.planned.plan.notes[0]}</p>}
      <NextButton
        title={next.title}
        detail={next.detail}
        disabled={(next.action === 'draw-area' && frame === null) || (next.action === 'make-lines' && plan?.fault != null)}
        onClick={() => {
          if (next.action === 'draw-area') draw();
          else if (next.action === 'make-lines') {
            screen.update((now) => ({ ...now, tool: 'look' }));
            void savePlan();
          } else if (next.action === 'save-fill-in') saveLines('fillIn', 'gpx');
          else if (next.action === 'build') {
            screen.update((now) => ({ ...now, stage: 'depths' }));
            void build();
          } else if (next.action === 'save-lines') saveLines('lines', 'gpx');
          else screen.update((now) => ({ ...now, stage: 'depths' }));
        }}
      />
      {plan?.changed === true && (
        <div className="small-actions">
          <button
            type="button"
            onClick={() => {
              screen.update((now) => ({ ...now, tool: 'look' }));
              closeDraft();
              openDraft();
            }}
          >
            Back to what is saved
          </button>
          {hasArea && (
            <button type="button" onClick={() => setDraftArea([], true)}>
              Clear the area
            </button>
          )}
        </div>
      )}
      {frame !== null && <LinesNoGo />}
      {summary !== null && frame !== null && <LinesPlaces summary={summary} />}
      <UndoRow />
      <LineFiles />
    </Sheet>
  );
}

function Where() {
  const [lat, setLat] = useState<number | null>(null);
  const [lon, setLon] = useState<number | null>(null);
  return (
    <div className="where">
      <p className="hint">This survey has no place yet. Give one to draw at, or take in a log or an area.</p>
      <div className="fields">
        <NumberField label="Latitude" unit="° N" value={lat} min={-80} max={84} step={0.01} decimals={6} allowEmpty onValue={setLat} />
        <NumberField label="Longitude" unit="° E" value={lon} min={-180} max={180} step={0.01} decimals={6} allowEmpty onValue={setLon} />
      </div>
      <div className="small-actions">
        <button type="button" disabled={lat === null || lon === null} onClick={() => lat !== null && lon !== null && startAt(lat, lon)}>
          Open the chart there
        </button>
      </div>
    </div>
  );
}

function Options({ plan }: { readonly plan: PlanDraft }) {
  const { options } = plan;
  const auto = plan.planned === null ? 'auto' : `auto ${fixed(plan.planned.plan.headingDeg, 0)}`;
  return (
    <div className="fields" role="group" aria-label="How to sweep">
      <NumberField label="Spacing" unit="m" value={options.spacingM} min={0.5} max={5000} step={1} decimals={2} onValue={(value) => value !== null && setDraftOption('spacingM', value)} />
      <NumberField label="Heading, true" unit="°" value={options.headingDeg} min={0} max={359.9} step={1} decimals={1} allowEmpty placeholder={auto} onValue={(value) => setDraftOption('headingDeg', value)} />
      <NumberField label="Cross lines" unit="%" value={options.crossShare * 100} min={0} max={100} step={1} decimals={1} onValue={(value) => value !== null && setDraftOption('crossShare', value / 100)} />
      <NumberField label="Run-in" unit="m" value={options.runInM} min={0} max={500} step={1} decimals={1} onValue={(value) => value !== null && setDraftOption('runInM', value)} />
      <NumberField label="Run-out" unit="m" value={options.runOutM} min={0} max={500} step={1} decimals={1} onValue={(value) => value !== null && setDraftOption('runOutM', value)} />
      <NumberField label="Speed" unit="m/s" value={options.speedMps} min={0.1} max={10} step={0.1} decimals={2} onValue={(value) => value !== null && setDraftOption('speedMps', value)} />
    </div>
  );
}

/** Sorties say better what transit and time say of lines alone. */
function withSorties(rows: readonly FigureRow[], sorties: readonly FigureRow[]): FigureRow[] {
  if (sorties.length === 0) return [...rows];
  const kept = rows.filter(({ label }) => label !== 'Transit' && label !== 'Time');
  return [...kept.slice(0, 3), ...sorties, ...kept.slice(3)];
}

function planRows(draft: PlanDraft): FigureRow[] {
  if (draft.planned === null) return [];
  const { plan, tookMs } = draft.planned;
  return [
    { label: 'Area', value: areaText(draftAreaM2(draft)), worth: plural(draft.area.length, 'polygon') },
    { label: 'Main lines', value: count(plan.main.length), worth: `${lengthText(plan.lengths.mainM)}, heading ${fixed(plan.headingDeg, 1)}° true` },
    { label: 'Cross lines', value: count(plan.cross.length), worth: plan.cross.length === 0 ? 'nothing to check the main lines by' : `${lengthText(plan.lengths.crossM)}, ${percent(plan.lengths.crossShare)} of main` },
    { label: 'Transit', value: lengthText(plan.lengths.transitM), worth: `with ${lengthText(plan.lengths.runInOutM)} of run-in and run-out` },
    { label: 'Time', value: duration(plan.time.totalS), worth: `at ${speed(draft.options.speedMps)}; ${plural(plan.time.turns, 'turn')}, no current` },
    { label: 'Planned in', value: `${fixed(tookMs, 0)} ms`, worth: `${draft.planned.sorties === null ? '' : `lines ${fixed(draft.planned.linesMs, 0)}, sorties ${fixed(draft.planned.sorties.tookMs, 0)} ms; `}${draft.changed ? 'not saved yet' : 'not in the folder yet'}` },
  ];
}

/** The figures of the lines in the folder. */
function savedRows(draft: PlanDraft, lines: LinesSummary, speedMps: number): FigureRow[] {
  return [
    { label: 'Area', value: areaText(draftAreaM2(draft)), worth: plural(draft.area.length, 'polygon') },
    { label: 'Main lines', value: count(lines.main), worth: `${lengthText(lines.mainLengthM)}, heading ${fixed(lines.headingDeg, 1)}° true` },
    { label: 'Cross lines', value: count(lines.cross), worth: lines.cross === 0 ? 'nothing to check the main lines by' : `${lengthText(lines.crossLengthM)}, ${percent(lines.crossLengthM / lines.mainLengthM)} of main` },
    { label: 'Transit', value: lengthText(lines.transitLengthM), worth: 'from line to line' },
    { label: 'Time', value: duration(lines.timeS), worth: `at ${speed(speedMps)}; no current` },
    { label: 'Spacing', value: `${fixed(lines.spacingM, 1)} m`, worth: 'as saved in the survey folder' },
  ];
}

function draftAreaM2(draft: PlanDraft): number {
  return draft.area.reduce((sum, rings) => {
    const [outer, ...holes] = rings.map(openRing);
    return outer === undefined ? sum : sum + polygonAreaM2({ outer, holes });
  }, 0);
}

const LINE_FILES = { lines: 'lines', fillIn: 'fill-in' } as const;

/** Hands the lines of the folder, or its fill-in lines, to the user as a file. */
function saveLines(which: keyof typeof LINE_FILES, kind: 'gpx' | 'geojson'): void {
  const { frame, shapes, summary } = survey.get();
  if (frame === null) return;
  const stem = LINE_FILES[which];
  const named: NamedLine[] = shapes[which].flatMap((shape) =>
    shape.parts.map((vertices, k) => ({ vertices, properties: shape.properties, name: `${String(shape.properties['kind'] ?? stem)} ${String(shape.properties['number'] ?? k + 1)}`, order: Number(shape.properties['order'] ?? k + 1) })),
  );
  const text = kind === 'gpx' ? linesGpx(named, frame, summary?.settings.name ?? 'survey') : JSON.stringify(linesGeoJson(named, frame));
  download(new Blob([text], { type: kind === 'gpx' ? 'application/gpx+xml' : 'application/geo+json' }), `${stem}.${kind}`);
}

/** The lines in the folder, and the fill-in lines, as files for the boat. */
function LineFiles() {
  const lines = useStore(survey, (now) => now.shapes.lines.length);
  const fillIn = useStore(survey, (now) => now.shapes.fillIn.length);
  if (lines === 0 && fillIn === 0) return null;
  const row = (title: string, which: keyof typeof LINE_FILES) => (
    <div className="files-row">
      <span>{title}</span>
      <button type="button" aria-label={`${title} as GPX`} onClick={() => saveLines(which, 'gpx')}>
        GPX
      </button>
      <button type="button" aria-label={`${title} as GeoJSON`} onClick={() => saveLines(which, 'geojson')}>
        GeoJSON
      </button>
    </div>
  );
  return (
    <section aria-label="For the boat" className="files">
      <h3>For the boat</h3>
      {lines > 0 && row(plural(lines, 'line'), 'lines')}
      {fillIn > 0 && row(plural(fillIn, 'fill-in line'), 'fillIn')}
    </section>
  );
}
