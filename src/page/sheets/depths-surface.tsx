import { useMemo } from 'react';
import type { SurveySummary } from '../../survey/summary.js';
import type { Plot } from '../plots/plot.js';
import { cssColour, readPointColours } from '../points/point-colours.js';
import { askAgain, floor, forgetDrawn, setSurface, showLayer, type FloorState } from '../state/floor.js';
import { lookAt } from '../state/depths.js';
import { screen, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { areaText, count, fixed, lengthText, metres, percent, plural } from '../words/figures.js';
import type { FloorAnswer, SurfaceLayer } from '../work/depths-messages.js';
import { DepthsDoubtful } from './depths-doubtful.js';
import { InlineChoice } from './inline-choice.js';
import { Figures, NumberField, type FigureRow } from './parts.js';
import { PlotView } from './plot-view.js';
import { depthsBelow } from '../../water/depth-datum.js';

const STATISTICS: Readonly<Record<string, string>> = { median: 'median', mean: 'mean', shoalest: 'shoalest', deepest: 'deepest', weighted: 'mean by uncertainty', hypotheses: 'several kept apart' };
const FILLS: Readonly<Record<string, string>> = { triangulation: 'triangles', 'natural-neighbour': 'natural neighbours', spline: 'spline in tension', kriging: 'kriging', none: 'not at all' };
const LAYERS: Readonly<Record<string, string>> = { '': 'depth tints', uncertainty: 'uncertainty, 95 %', count: 'soundings in a cell', slope: 'slope', ruggedness: 'ruggedness' };

/** The surface: how it is made, what is shown of it, and what can be asked of it. */
export function DepthsSurface({ summary }: { readonly summary: SurveySummary }) {
  const { surface: settings } = summary.settings;
  const { surface } = summary;
  if (surface === null) return <p className="hint">There is no surface yet: build the survey, and it is made from the good soundings.</p>;
  const cells = surface.cellsMeasured + surface.cellsFilled;
  return (
    <>
      <Figures
        label="Figures of the surface"
        rows={[
          { label: 'Cells', value: `${fixed(surface.cellM, surface.cellM < 1 ? 2 : 1)} m`, worth: `${count(cells)} with a depth; ${percent(surface.cellsFilled / cells)} of them filled between soundings` },
          { label: 'Depth', value: `${fixed(surface.depthMinM, 1)} – ${fixed(surface.depthMaxM, 1)} m`, worth: `below ${depthsBelow(summary.settings)}; uncertainty ${metres(surface.uncertaintyMedianM, 2)} median` },
        ]}
      />
      <LeftOutNote surface={surface} />
      <div className="choices">
        <InlineChoice label="Depth of a cell" value={settings.statistic} choices={withValue(STATISTICS, settings.statistic)} onValue={(value) => void setSurface('surface.statistic', value)} />
        <InlineChoice label="Between soundings" value={settings.fill} choices={withValue(FILLS, settings.fill)} onValue={(value) => void setSurface('surface.fill', value)} />
      </div>
      <div className="fields">
        <NumberField label="Cell" unit="m" value={settings.cellM} min={0.05} max={1000} step={0.5} decimals={2} placeholder="by itself" allowEmpty settled onValue={(value) => void setSurface('surface.cellM', value)} />
        <NumberField label="Filled within" unit="m" value={settings.fillDistanceM} min={0} max={1000} step={1} decimals={1} settled onValue={(value) => value !== null && void setSurface('surface.fillDistanceM', value)} />
        {settings.fill === 'spline' && <NumberField label="Tension" unit="0–1" value={settings.tension} min={0} max={1} step={0.05} decimals={2} settled onValue={(value) => value !== null && void setSurface('surface.tension', value)} />}
      </div>
      <DepthsDoubtful summary={summary} />
      <Layers />
      <Ask />
    </>
  );
}

/** The error found by leaving whole lines out, where the surface was made with it. */
interface LeftOutShown {
  readonly lines: number;
  readonly rmsM: number;
  readonly p95M: number;
  readonly withinShare: number;
}

function LeftOutNote({ surface }: { readonly surface: object }) {
  const { leftOut } = surface as { readonly leftOut?: LeftOutShown | null };
  if (leftOut == null) return null;
  return (
    <p className="note">
      Between lines the surface is off by {metres(leftOut.rmsM, 2)} RMS, 95{'\u00a0'}% within {metres(leftOut.p95M, 2)}, as lines left out whole show ({plural(leftOut.lines, 'line')} in turn); {percent(leftOut.withinShare)} of it within what is claimed.
    </p>
  );
}

/** Choices that hold the value as it stands, whatever set it. */
function withValue(choices: Readonly<Record<string, string>>, value: string): Readonly<Record<string, string>> {
  return value in choices ? choices : { ...choices, [value]: value };
}

/** What of the surface colours the chart, and what the colours say. */
function Layers() {
  const { layer, info } = useStore(floor);
  useStore(screen, (now) => now.dusk);
  const ramp = layer === null ? [] : readPointColours(document.documentElement).ramp;
  const decimals = info === null ? 0 : info.high < 1 ? 2 : info.high < 20 ? 1 : 0;
  return (
    <section className="apart" aria-label="Layers of the surface">
      <div className="choices">
        <InlineChoice label="Colours of the chart" value={layer ?? ''} choices={LAYERS} onValue={(value) => void showLayer(value === '' ? null : (value as SurfaceLayer))} />
      </div>
      {layer !== null && info !== null && (
        <p className="layer-legend">
          {fixed(info.low, decimals)}
          <i style={{ background: `linear-gradient(90deg, ${[...ramp].reverse().map(cssColour).join(', ')})` }} />
          {fixed(info.high, decimals)}
          {info.unit === '' ? '' : ` ${info.unit}`}
          <small>the middle nine tenths of the cells lie between</small>
        </p>
      )}
    </section>
  );
}

/** Questions to the surface. */
function Ask() {
  const state = useStore(floor);
  const tool = useStore(screen, (now) => now.tool);
  const draw = (one: 'ask-line' | 'ask-area') => screen.update((now) => ({ ...now, tool: now.tool === one ? 'look' : one }));
  return (
    <section className="apart" aria-label="Ask the surface">
      <h3>Ask it</h3>
      <div className="small-actions">
        <button type="button" aria-pressed={tool === 'ask-line'} onClick={() => draw('ask-line')}>
          Profile along a line
        </button>
        <button type="button" aria-pressed={tool === 'ask-area'} onClick={() => draw('ask-area')}>
          Inside a shape
        </button>
      </div>
      {(tool === 'ask-line' || tool === 'ask-area') && <p className="hint">{tool === 'ask-line' ? 'Click points on the chart; a double click ends the line.' : 'Click the corners on the chart; a double click closes the shape.'}</p>}
      {state.asking && <p className="hint" role="status">Asking the surface…</p>}
      {state.line !== null && state.profile !== null && <ProfileAnswer answer={state.profile} />}
      {state.ring !== null && <InsideAnswer state={state} />}
    </section>
  );
}

function ProfileAnswer({ answer }: { readonly answer: Extract<FloorAnswer, { kind: 'profile' }> }) {
  const plot = useMemo(() => profilePlot(answer), [answer]);
  return (
    <div className="answer">
      <Figures
        label="Profile along the line"
        rows={[
          { label: 'Length', value: lengthText(answer.profile.lengthM), worth: answer.knownShare < 1 ? `${percent(answer.knownShare)} of it lies on the surface` : 'all of it lies on the surface' },
          { label: 'Depth', value: `${fixed(answer.shoalM, 2)} – ${fixed(answer.deepM, 2)} m`, worth: 'shoalest and deepest along it' },
        ]}
      />
      <PlotView plot={plot} />
      <div className="small-actions">
        <button type="button" onClick={() => forgetDrawn('line')}>
          Take the line away
        </button>
      </div>
    </div>
  );
}

function profilePlot({ profile }: Extract<FloorAnswer, { kind: 'profile' }>): Plot {
  const half95 = Float64Array.from(profile.uncertaintyM, (value) => (Number.isFinite(value) ? value : 0));
  return {
    name: 'surface-profile',
    title: 'Depth along the line',
    caption: 'Of the surface; band: its uncertainty, 95 %. Not for navigation.',
    x: { label: 'distance', unit: 'm', column: 'distance_m' },
    y: { label: 'depth', unit: 'm', column: 'depth_m', down: true },
    equal: false,
    series: [{ name: 'depth', style: 'line', x: profile.distanceM, y: Float64Array.from(profile.depthM), half95 }],
    marks: [],
  };
}

function InsideAnswer({ state }: { readonly state: FloorState }) {
  const { inside, least, levelM } = state;
  const soundings = useStore(survey, (now) => now.soundings);
  const rows: FigureRow[] = [];
  if (least !== null && least.row >= 0) rows.push({ label: 'Least depth', value: metres(least.depthM, 2), worth: `sounded, ± ${fixed(least.tvuM, 2)} m; of ${plural(least.count, 'good sounding')} inside` });
  else if (least !== null) rows.push({ label: 'Least depth', value: 'not sounded', worth: 'no good sounding lies inside' });
  if (inside !== null) {
    const { volumes } = inside;
    rows.push({ label: 'Surface', value: `${fixed(inside.shoalM, 2)} – ${fixed(inside.deepM, 2)} m`, worth: `mean ${metres(inside.meanM, 2)}; could be as shoal as ${metres(inside.shoalBoundM, 2)} at 95 %` });
    rows.push({ label: 'Area', value: areaText(inside.areaM2), worth: volumes.knownM2 < inside.areaM2 * 0.999 ? `${percent(volumes.knownM2 / inside.areaM2)} of it with a depth` : 'all of it with a depth' });
    rows.push({ label: `Above ${fixed(inside.levelM, 2)} m`, value: `${count(volumes.aboveM3)} m³`, worth: `± ${count(volumes.aboveHalf95M3)} m³, 95 %; on ${areaText(volumes.aboveM2)}: what would be dug down to it` });
    rows.push({ label: `Below ${fixed(inside.levelM, 2)} m`, value: `${count(volumes.belowM3)} m³`, worth: `± ${count(volumes.belowHalf95M3)} m³, 95 %; on ${areaText(volumes.belowM2)}: what would fill it up` });
    rows.push({ label: 'Slope', value: `${fixed(inside.slopeMeanDeg, 1)}°`, worth: `mean; steepest tenth over ${fixed(inside.slopeP90Deg, 1)}°` });
  }
  return (
    <div className="answer">
      <Figures label="Inside the shape" rows={rows} />
      <div className="fields">
        <NumberField
          label="Level"
          unit="m"
          value={levelM}
          min={-100}
          max={11_000}
          step={0.1}
          decimals={2}
          settled
          onValue={(value) => {
            if (value === null) return;
            floor.update((now) => ({ ...now, levelM: value }));
            void askAgain('ring');
          }}
        />
      </div>
      <div className="small-actions">
        {least !== null && least.row >= 0 && soundings !== null && (
          <button type="button" onClick={() => lookAt(least.row, least.row + 1)}>
            Go to the least depth
          </button>
        )}
        <button type="button" onClick={() => forgetDrawn('ring')}>
          Take the shape away
        </button>
      </div>
    </div>
  );
}
