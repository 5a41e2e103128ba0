import { build } from '../state/actions.js';
import { survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { bytes, plural } from '../words/figures.js';
import { staleSteps } from '../words/stages.js';
import { ReportChoose } from './report-choose.js';
import { NextButton, Sheet, UndoRow, WorkState } from './parts.js';

const ABOUT: readonly (readonly [RegExp, string])[] = [
  [/report\.html$/, 'report, to read and to print'],
  [/report\.pdf$/, 'report, on paper'],
  [/instrument-checks\.pdf$/, 'sheet of the instrument checks, to fill in'],
  [/selected-soundings\.geojson$/, 'soundings selected for a chart scale'],
  [/chart.*\.(pdf|svg|png)$/, 'chart, on paper'],
  [/surface\.tif$/, 'surface: depth, uncertainty, count (GeoTIFF)'],
  [/mosaic\.tif$/, 'side-scan mosaic (GeoTIFF)'],
  [/finds\.(geojson|gpx|csv|kml)$/, 'things located on the bottom'],
  [/soundings\.csv$/, 'reduced soundings (CSV)'],
  [/soundings\.parquet$/, 'reduced soundings (GeoParquet)'],
  [/s102.*\.h5$/, 'surface as IHO S-102 (HDF5)'],
  [/survey\.gpkg$/, 'soundings, contours, gaps, lines, finds (GeoPackage)'],
  [/contours\.dxf$/, 'contours for drawing programs (DXF)'],
  [/soundings\.xyz$/, 'good soundings as plain text'],
  [/surface\.xyz$/, 'the surface as plain text'],
  [/xyz-readme\.txt$/, 'what the .xyz files do not say'],
  [/shaded\.png$/, 'picture of the surface, hill-shaded'],
  [/shaded\.(pgw|prj|png\.aux\.xml)$/, 'places the picture'],
  [/README\.txt$/, 'what each file is and what it was made from'],
  [/contours\.geojson$/, 'contours (GeoJSON)'],
  [/gaps\.geojson$/, 'gaps (GeoJSON)'],
  [/fill-in.*\.(geojson|gpx)$/, 'fill-in lines'],
  [/lines.*\.(geojson|gpx)$/, 'planned lines'],
];

/** Report: what can be handed over. */
export function ReportSheet() {
  const summary = useStore(survey, (now) => now.summary);
  const products = summary?.products ?? [];
  const stale = summary === null ? [] : staleSteps(summary);
  const report = products.find((product) => product.path.endsWith('report.html'));
  const hasLogs = (summary?.logs.length ?? 0) > 0;
  return (
    <Sheet title="Report" lead={products.length === 0 ? 'Nothing made yet. A build makes the report and the products from the logs, the settings and your decisions.' : 'Made from the logs, the settings and your decisions; the same of these gives the same bytes. Not for navigation.'}>
      <WorkState />
      {stale.length > 0 && products.length > 0 && <p className="note">The survey has changed since these were made: {plural(stale.length, 'step')} out of date.</p>}
      {report !== undefined && stale.length === 0 ? (
        <a className="next" href={`/files/${report.path}`} target="_blank" rel="noreferrer">
          <strong>Open the report</strong>
          <span>{report.path}, in a new tab</span>
        </a>
      ) : (
        <NextButton title="Build" detail={hasLogs ? 'reduces the logs and makes the report' : 'there are no logs yet: take one in at Depths'} disabled={!hasLogs} onClick={() => void build()} />
      )}
      <div className="small-actions">
        {report !== undefined && stale.length === 0 && (
          <button type="button" onClick={() => void build()}>
            Rebuild
          </button>
        )}
        <button type="button" onClick={() => print()}>
          Print this table
        </button>
      </div>
      {summary !== null && <ReportChoose summary={summary} />}
      {products.length > 0 && (
        <table className="list products">
          <caption>Products</caption>
          <tbody>
            {products.map((product) => (
              <tr key={product.path}>
                <th scope="row">
                  <a href={`/files/${product.path}`} target="_blank" rel="noreferrer">
                    {product.path.replace(/^products\//, '')}
                  </a>
                  <small>{ABOUT.find(([pattern]) => pattern.test(product.path))?.[1] ?? ''}</small>
                </th>
                <td>{bytes(product.bytes)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <UndoRow />
    </Sheet>
  );
}
