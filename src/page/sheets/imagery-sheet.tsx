import type { SurveySummary } from '../../survey/summary.js';
import { build, runningJob } from '../state/actions.js';
import { imagery, setImagery, showMosaic, type MosaicLayer } from '../state/imagery.js';
import { screen, session, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { pickLogs } from '../drop-zone.js';
import { areaText, count, fixed, lengthText, metres, percent, plural } from '../words/figures.js';
import { imageryOf, nextImageryThing, type ImageryAction } from '../words/imagery-stage.js';
import { isSonarLog } from '../words/sonar-logs.js';
import { InlineChoice } from './inline-choice.js';
import { TakenIn } from './taken-in.js';
import { Figures, NextButton, NumberField, Sheet, TakeInButton, UndoRow, WorkState, type FigureRow } from './parts.js';

/** Imagery: from side-scan records to a mosaic, how good it is, and what is still to do. */
export function ImagerySheet() {
  const summary = useStore(survey, (now) => now.summary);
  const building = useStore(session, (now) => runningJob(now.jobs)?.verb === 'build');
  if (summary === null) {
    return (
      <Sheet title="Imagery" lead="Reading the survey…">
        <WorkState />
      </Sheet>
    );
  }
  const next = nextImageryThing(summary);
  const parts = imageryOf(summary);
  const rows = figureRows(summary);
  const notes = [...(parts?.clock != null && !parts.clock.known ? [`Whether the sonar’s clock runs with the positions’ is not known: ${parts.clock.how}.`] : []), ...(parts?.mosaic?.notes ?? [])];
  return (
    <Sheet title="Imagery" lead={leadOf(summary)}>
      <WorkState />
      {rows.length > 0 && <Figures rows={rows} label="Figures of the imagery" />}
      {notes.map((note) => (
        <p key={note} className="note">
          {note}
        </p>
      ))}
      <NextButton title={next.title} detail={next.detail} disabled={next.action === 'build' && building} onClick={() => act(next.action)} />
      <div className="small-actions">
        {next.action !== 'take-in' && <TakeInButton />}
        {next.action !== 'build' && summary.logs.some(isSonarLog) && (
          <button type="button" onClick={() => void build()}>
            Build
          </button>
        )}
      </div>
      <UndoRow />
      <TakenIn />
      {summary.logs.some(isSonarLog) && (
        <>
          <Layers summary={summary} />
          <Making summary={summary} />
          <Mounting summary={summary} />
        </>
      )}
    </Sheet>
  );
}

function act(action: ImageryAction): void {
  if (action === 'take-in') pickLogs();
  else if (action === 'build') void build();
  else if (action === 'draw-bottom') imagery.update((now) => ({ ...now, tool: 'bottom', axis: 'slant', showBottom: true }));
  else if (action === 'finds') screen.update((now) => ({ ...now, stage: 'finds' }));
}

function leadOf(summary: SurveySummary): string {
  const logs = summary.logs.filter(isSonarLog);
  if (logs.length === 0) return 'No side-scan records yet. Take in SEG-Y, SONAR-netCDF4, pictures with their positions, or a record of your own layout; they are kept byte for byte.';
  const pings = logs.reduce((sum, log) => sum + log.pings, 0);
  return `${plural(pings, 'ping')} from ${plural(logs.length, 'side-scan log')}. Everything below rebuilds from ${logs.length === 1 ? 'it' : 'them'}.`;
}

function figureRows(summary: SurveySummary): FigureRow[] {
  const parts = imageryOf(summary);
  if (parts === null) return [];
  const { bottom, clock, mosaic } = parts;
  const rows: FigureRow[] = [];
  if (mosaic !== null) {
    rows.push({ label: 'Mosaic', value: areaText(mosaic.filledM2), worth: `${mosaic.areaShare === null ? '' : `${percent(mosaic.areaShare)} of the area; `}cells of ${mosaic.cellM < 1 ? `${fixed(mosaic.cellM * 100, 0)} cm` : metres(mosaic.cellM)}` });
    rows.push({ label: 'Lines on it', value: count(mosaic.lines.length), worth: `${percent(mosaic.pings === 0 ? NaN : mosaic.pingsUsed / mosaic.pings)} of the pings; range ${lengthText(mosaic.rangeM)}` });
  }
  if (bottom !== null) {
    const known = bottom.pings - bottom.none;
    const worth = [bottom.bridged > 0 ? `${percent(bottom.bridged / bottom.pings)} carried on` : '', bottom.byHand > 0 ? `${percent(bottom.byHand / bottom.pings)} by hand` : '', bottom.depthSurface > 0 ? `${percent(bottom.depthSurface / bottom.pings)} from the depths` : '', bottom.none > 0 ? `${percent(bottom.none / bottom.pings)} not known` : ''].filter((part) => part !== '').join('; ');
    rows.push({ label: 'Bottom under it', value: `${percent(bottom.pings === 0 ? NaN : (bottom.tracked + bottom.byHand) / bottom.pings)} heard`, worth: worth === '' ? `${plural(known, 'ping')} with a height` : worth });
    if (bottom.heightMedianM !== null) rows.push({ label: 'Height of the sonar', value: `${fixed(bottom.heightMinM ?? NaN, 1)} – ${fixed(bottom.heightMaxM ?? NaN, 1)} m`, worth: `above the floor; median ${metres(bottom.heightMedianM)}` });
    rows.push({ label: 'Sound speed', value: `${fixed(bottom.soundSpeedMps, 0)} m/s`, worth: bottom.soundSpeedFrom });
  }
  if (clock !== null) rows.push({ label: 'Sonar\u2019s clock', value: clock.known ? `${clock.offsetS > 0 ? '+' : ''}${fixed(clock.offsetS, 2)} s` : 'as it is', worth: clock.known ? `${clock.uncertainty95S === null ? '' : `± ${fixed(clock.uncertainty95S, 2)} s; `}${clock.how}` : 'not known' });
  return rows;
}

/** What of the mosaic lies under the chart. */
function Layers({ summary }: { readonly summary: SurveySummary }) {
  const layer = useStore(imagery, (now) => now.layer);
  const mosaic = imageryOf(summary)?.mosaic ?? null;
  const { perLine } = summary.settings.imagery;
  const choices: Record<string, string> = { all: 'all lines', none: 'nothing: the depths' };
  if (perLine) for (const line of mosaic?.lines ?? []) choices[String(line)] = `line ${line} alone`;
  const shown = String(layer);
  return (
    <section className="apart" aria-label="Under the chart">
      <div className="choices">
        <InlineChoice label="Under the chart" value={shown in choices ? shown : 'all'} choices={choices} onValue={(value) => void showMosaic(value === 'all' || value === 'none' ? value : (Number(value) as MosaicLayer))} />
      </div>
      <p className="hint">
        <label className="tick">
          <input type="checkbox" checked={perLine} onChange={(event) => void setImagery('imagery.perLine', event.target.checked, event.target.checked ? 'every line is made a picture of its own' : 'lines have no pictures of their own any more')} />
          Make a picture of each line too: to see what a later line covers
        </label>
      </p>
    </section>
  );
}

const BLENDS: Readonly<Record<string, string>> = { best: 'the sharpest look', mean: 'the mean', brightest: 'the brightest', latest: 'the latest' };
const BLEND_WHY: Readonly<Record<string, string>> = {
  best: 'Each place from the line that saw it with the smallest footprint: for looking closely.',
  mean: 'Evens out noise and blurs what lies between lines.',
  brightest: 'Small hard things stay in sight; shadows are lost.',
  latest: 'What was run last lies on top.',
};

/** How the mosaic is made, with reasons. */
function Making({ summary }: { readonly summary: SurveySummary }) {
  const { imagery: settings } = summary.settings;
  const why = imageryOf(summary)?.mosaic?.cellWhy;
  return (
    <section className="apart" aria-label="How the mosaic is made">
      <h3>How it is made</h3>
      <div className="choices">
        <InlineChoice label="Where lines overlap" value={settings.blend} choices={BLENDS} onValue={(value) => void setImagery('imagery.blend', value, 'the mosaic is made anew')} />
      </div>
      <p className="hint">{BLEND_WHY[settings.blend]}</p>
      <div className="fields">
        <NumberField label="Cell" unit="m" value={settings.cellM} min={0.02} max={50} step={0.05} decimals={2} placeholder="by itself" allowEmpty settled onValue={(value) => void setImagery('imagery.cellM', value, 'the mosaic is made anew')} />
        <NumberField label="Range from" unit="%" value={settings.minRangeShare * 100} min={0} max={95} step={1} decimals={0} settled onValue={(value) => value !== null && void setImagery('imagery.minRangeShare', value / 100, 'the mosaic is made anew')} />
        <NumberField label="to" unit="%" value={settings.maxRangeShare * 100} min={5} max={100} step={1} decimals={0} settled onValue={(value) => value !== null && void setImagery('imagery.maxRangeShare', value / 100, 'the mosaic is made anew')} />
      </div>
      <p className="hint">{why ?? 'The cell follows from how fine the pings are. Leave out the outer range where echoes drown in noise, the inner where the floor is hit too steeply.'}</p>
    </section>
  );
}

/** Where the sonar sits, and what it is told of the world. */
function Mounting({ summary }: { readonly summary: SurveySummary }) {
  const { sonar } = summary.settings;
  const { layback } = sonar;
  const set = (path: string) => (value: number | null | NonNullable<typeof layback>) => void setImagery(`sonar.${path}`, value, 'the imagery is made anew');
  const must = (path: string) => (value: number | null) => value !== null && set(path)(value);
  return (
    <details className="apart">
      <summary>Where the sonar sits</summary>
      <p className="hint">From the boat’s reference point, as the antenna is{sonar.layback === null ? '' : '; towed: of the place where the cable leaves the boat'}. A metre off here moves everything on the mosaic by a metre.</p>
      <div className="fields">
        <NumberField label="Forward" unit="m" value={sonar.mount.forwardM} min={-50} max={50} step={0.05} decimals={2} settled onValue={must('mount.forwardM')} />
        <NumberField label="Starboard" unit="m" value={sonar.mount.starboardM} min={-50} max={50} step={0.05} decimals={2} settled onValue={must('mount.starboardM')} />
        <NumberField label="Down" unit="m" value={sonar.mount.downM} min={-50} max={50} step={0.05} decimals={2} settled onValue={must('mount.downM')} />
        <NumberField label="Below the water" unit="m" value={sonar.draftM} min={0} max={50} step={0.05} decimals={2} settled onValue={must('draftM')} />
        <NumberField label="Clock" unit="s" value={sonar.clockOffsetS} min={-86_400} max={86_400} step={0.05} decimals={2} placeholder="found" allowEmpty settled onValue={set('clockOffsetS')} />
        <NumberField label="Sound speed" unit="m/s" value={sonar.soundSpeedMps} min={1300} max={1700} step={1} decimals={1} placeholder="the water’s" allowEmpty settled onValue={set('soundSpeedMps')} />
      </div>
      <div className="fields">
        <NumberField label="Cable out" unit="m" value={layback?.cableOutM ?? null} min={0} max={1000} step={0.5} decimals={1} placeholder="not towed" allowEmpty settled onValue={(value) => set('layback')(value === null ? null : { pointDownM: 0, pointAftM: 0, ...layback, cableOutM: value })} />
        {layback !== null && (
          <>
            <NumberField label="Cable leaves it" unit="m below the water" value={layback.pointDownM} min={-50} max={50} step={0.05} decimals={2} settled onValue={(value) => value !== null && set('layback')({ ...layback, pointDownM: value })} />
            <NumberField label="and" unit="m aft" value={layback.pointAftM} min={-50} max={50} step={0.05} decimals={2} settled onValue={(value) => value !== null && set('layback')({ ...layback, pointAftM: value })} />
          </>
        )}
      </div>
      <p className="hint">Clock: seconds to add to the sonar’s times; left empty it is found by holding the bottom against the depths.</p>
      <label className="tick">
        <input type="checkbox" checked={sonar.swapSides} onChange={(event) => void setImagery('sonar.swapSides', event.target.checked, 'port and starboard change places')} />
        Port and starboard are swapped in the records
      </label>
    </details>
  );
}
