import { polylineLengthM } from '../../geo/segment.js';
import type { SearchSummary } from '../../survey/summary.js';
import { download } from '../download.js';
import { finds, type SearchLayer } from '../state/finds.js';
import { setImagery } from '../state/imagery.js';
import { survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { scaleGradient } from '../waterfall/colour-scales.js';
import { areaText, fixed, lengthText, metres, percent, plural } from '../words/figures.js';
import { InlineChoice } from './inline-choice.js';
import { linesGeoJson, linesGpx, type NamedLine } from './lines-files.js';
import { Figures, NextButton, NumberField, type FigureRow } from './parts.js';

const LAYERS: Readonly<Record<SearchLayer, string>> = { none: 'the mosaic alone', chance: 'chance of having seen it', remains: 'chance that one remains', looks: 'how often it was looked at' };

/** What was searched, what may remain, and the lines that would help most. */
export function FindsSearch() {
  const { searchMap, layer, nextLines } = useStore(finds);
  const summary = useStore(survey, (now) => now.summary);
  const settings = summary?.settings.finds;
  const search = summary?.search ?? null;
  const lengthM = nextLines.reduce((sum, { parts }) => sum + parts.reduce((all, part) => all + polylineLengthM(part), 0), 0);
  if (search === null && searchMap === null) return <p className="hint">Build the survey, and what was searched is reckoned from every ping: how likely an object of the size you name would have been seen, place by place.</p>;
  return (
    <>
      <Figures label="Figures of the search" rows={rowsOf(search)} />
      {(search?.notes ?? []).map((note) => (
        <p key={note} className="note">
          {note}
        </p>
      ))}
      <div className="choices">
        <InlineChoice label="Over the mosaic" value={layer} choices={LAYERS} onValue={(value) => finds.update((now) => ({ ...now, layer: value as SearchLayer }))} />
      </div>
      {layer !== 'none' && (
        <p className="layer-legend">
          {layer === 'looks' ? '0' : '0 %'}
          <i style={{ background: scaleGradient('blue-yellow', false) }} />
          {layer === 'looks' ? '6 looks or more' : '100 %'}
        </p>
      )}
      {settings !== undefined && (
        <div className="fields">
          <NumberField label="Object looked for" unit="m" value={settings.objectM} min={0.1} max={50} step={0.1} decimals={2} settled onValue={(value) => value !== null && void setImagery('finds.objectM', value, 'the search is reckoned anew')} />
          <NumberField label="Its height" unit="m" value={settings.objectHeightM} min={0.05} max={50} step={0.1} decimals={2} placeholder="half of it" allowEmpty settled onValue={(value) => void setImagery('finds.objectHeightM', value, 'the search is reckoned anew')} />
        </div>
      )}
      {nextLines.length > 0 ? (
        <>
          <NextButton title="Save the next lines" detail={`${plural(nextLines.length, 'fill-in line')}, ${lengthText(lengthM)}: they raise the chance most for the battery`} onClick={() => saveNextLines('gpx')} />
          <div className="small-actions">
            <button type="button" onClick={() => saveNextLines('geojson')}>
              As GeoJSON
            </button>
          </div>
          <table className="list">
            <caption>Next lines, the best first</caption>
            <thead>
              <tr>
                <th scope="col">Line</th>
                <th scope="col">Length</th>
                <th scope="col">Brings</th>
              </tr>
            </thead>
            <tbody>
              {nextLines.slice(0, 40).map(({ parts, properties }, k) => (
                <tr key={k}>
                  <th scope="row">{String(properties['number'] ?? k + 1)}</th>
                  <td>{lengthText(parts.reduce((all, part) => all + polylineLengthM(part), 0))}</td>
                  <td>{bringsText(properties)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </>
      ) : (
        <p className="hint">No further line is proposed: none raises the chance enough to be worth its way.</p>
      )}
    </>
  );
}

function rowsOf(search: SearchSummary | null): FigureRow[] {
  if (search === null) return [];
  return [
    { label: 'Looked for', value: metres(search.objectM), worth: 'an object of this size' },
    { label: 'Looked at', value: areaText(search.searchedM2), worth: search.areaM2 > 0 ? `${percent(search.searchedM2 / search.areaM2)} of the area` : undefined },
    { label: 'Chance of seeing it', value: percent(search.chanceMean), worth: 'were one to lie anywhere in the area' },
    { label: 'Likely still there', value: fixed(search.expectedLeft, 2), worth: `of ${fixed(search.expectedBefore, 1)} such objects expected before the search; at least one with a chance of ${percent(search.chanceLeft)}` },
  ];
}

/** What a line brings, by what the survey says of it. */
function bringsText(properties: Readonly<Record<string, unknown>>): string {
  const more = Number(properties['foundMore'] ?? NaN);
  const energyWh = Number(properties['energyWh'] ?? NaN);
  return Number.isFinite(more) ? `${fixed(more, 3)} more found${Number.isFinite(energyWh) ? `, ${fixed(energyWh, 1)} Wh` : ''}` : '–';
}

/** The next lines as a file for the boat, as the fill-in lines are. */
function saveNextLines(format: 'gpx' | 'geojson'): void {
  const { frame, summary } = survey.get();
  if (frame === null || summary === null) return;
  const lines: NamedLine[] = finds.get().nextLines.flatMap(({ parts, properties }, k) => parts.map((vertices) => ({ vertices, name: `fill-in ${String(properties['number'] ?? k + 1)}`, order: k + 1, properties: { ...properties, kind: 'fill-in' } })));
  const blob = format === 'gpx' ? new Blob([linesGpx(lines, frame, `${summary.settings.name}: next lines of the search`)], { type: 'application/gpx+xml' }) : new Blob([JSON.stringify(linesGeoJson(lines, frame))], { type: 'application/geo+json' });
  download(blob, `search-lines.${format}`);
}
