import { useMemo, useState } from 'react';
import { crossingStanding } from '../../depths/line-offsets.js';
import { ORDERS, tvuLimitM, type OrderName } from '../../depths/orders.js';
import { crossingMarks, isBeyond, type CrossingMarks } from '../chart/crossing-marks.js';
import { download } from '../download.js';
import type { Plot } from '../plots/plot.js';
import { depths, lookAt, runsNow } from '../state/depths.js';
import { goToCrossing } from '../state/go-to-crossing.js';
import { survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { nearestRow } from '../strip/decimate.js';
import { clock, count, fixed, metres, percent, plural, signed } from '../words/figures.js';
import { orderName } from '../words/names.js';
import type { LoadedCrossings } from '../work/messages.js';
import { Figures } from './parts.js';
import { PlotView } from './plot-view.js';

const LISTED = 10;

/** The check: what lines that cross say of each other, against the order asked for, and what may lie behind it. */
export function DepthsCheck() {
  const crossings = useStore(survey, (now) => now.crossings);
  const soundings = useStore(survey, (now) => now.soundings);
  const index = useStore(survey, (now) => now.index);
  const order = useStore(survey, (now) => (now.summary?.settings.order ?? '1a') as OrderName);
  const marks = useMemo(() => (crossings === null || crossings.n === 0 ? null : crossingMarks(crossings, soundings, index)), [crossings, soundings, index]);
  const plot = useMemo(() => (marks === null ? null : differencePlot(marks, order)), [marks, order]);
  if (crossings === null || marks === null) {
    return <p className="hint">No line crosses another: nothing checks the lines against each other. A few cross lines, run over the main lines, would tell a wrong tide, draft or position.</p>;
  }
  const beyond = Array.from({ length: marks.n }, (_, i) => i).filter((i) => isBeyond(marks, i)).length;
  return (
    <>
      <Standing crossings={crossings} order={order} />
      <Causes causes={crossings.causes} />
      <p className="hint">
        {plural(marks.n, 'crossing')}, {beyond === 0 ? 'none' : count(beyond)} beyond the 95{'\u00a0'}% that the soundings claim together. On the chart each has a ring as large as the difference: full where the later line reads deeper.
      </p>
      {plot !== null && <PlotView plot={plot} />}
      <Largest marks={marks} />
      <LineTable crossings={crossings} />
      <PairTable crossings={crossings} />
    </>
  );
}

function Standing({ crossings, order }: { readonly crossings: LoadedCrossings; readonly order: OrderName }) {
  const known = crossings.depthAM.every(Number.isFinite);
  const standing = crossings.standing?.order === order ? crossings.standing : known ? crossingStanding({ ...crossings, count: crossings.n }, order) : crossings.standing;
  const best = known ? (ORDERS.find((one) => crossingStanding({ ...crossings, count: crossings.n }, one).met) ?? null) : null;
  if (standing === null) return null;
  return (
    <Figures
      label="Crossings against the order"
      rows={[
        {
          label: `Order ${orderName(standing.order)}`,
          value: standing.met ? 'met by the crossings' : 'not met by the crossings',
          worth: `${percent(standing.shareWithin)} within what two depths of that order may differ by; 95 % asked for${best !== null && best !== standing.order ? `; ${standing.met ? 'even ' : ''}${orderName(best)} is met` : ''}`,
        },
        { label: 'Differences', value: `mean ${signed(standing.meanM, 2)} m`, worth: `95 % within ${metres(standing.p95M, 2)}; deviation ${metres(standing.deviationM, 2)}; ${plural(standing.count, 'crossing')}` },
      ]}
    />
  );
}

/** What may lie behind the differences. */
function Causes({ causes }: { readonly causes: LoadedCrossings['causes'] }) {
  const soundings = useStore(survey, (now) => now.soundings);
  if (causes.length === 0) return <p className="note">The differences speak for no cause of their own: no step in time, no tilt, no line that stands out.</p>;
  return (
    <section className="causes" aria-label="What may lie behind the differences">
      <h3>What may lie behind it</h3>
      {causes.map((cause) => (
        <p className="note" key={`${cause.kind} ${cause.words}`}>
          {cause.words}
          <small>
            {Number.isFinite(cause.share) && `explains ${percent(cause.share, 0)} of the differences' squares`}
            {soundings !== null && Number.isFinite(cause.timeS) && (
              <>
                {' '}
                <button type="button" className="link" onClick={() => goToTime(cause.timeS)}>
                  go to {clock(cause.timeS)}
                </button>
              </>
            )}
            {cause.line >= 0 && (
              <>
                {' '}
                <button type="button" className="link" onClick={() => goToLine(cause.line)}>
                  show line {cause.line}
                </button>
              </>
            )}
          </small>
        </p>
      ))}
    </section>
  );
}

function goToTime(timeS: number): void {
  const { soundings } = survey.get();
  const row = soundings === null ? -1 : nearestRow(soundings.timeS, timeS);
  if (row >= 0) lookAt(row, row + 1);
}

function goToLine(line: number): void {
  const run = runsNow().find((one) => one.line === line);
  if (run !== undefined) lookAt(run.rowStart, run.rowEnd);
}

/** The crossings that differ most; a click goes there. */
function Largest({ marks }: { readonly marks: CrossingMarks }) {
  const chosen = useStore(depths, (now) => now.crossing);
  const [all, setAll] = useState(false);
  const worst = useMemo(() => Array.from({ length: marks.n }, (_, i) => i).sort((a, b) => Math.abs(marks.differenceM[b] as number) - Math.abs(marks.differenceM[a] as number)), [marks]);
  return (
    <section aria-label="Crossings">
      <table className="list crossings-list">
        <caption>Largest differences</caption>
        <thead>
          <tr>
            <th scope="col">Lines</th>
            <th scope="col">Later less earlier</th>
            <th scope="col">Claimed, 95 %</th>
          </tr>
        </thead>
        <tbody>
          {worst.slice(0, all ? 2000 : LISTED).map((i) => (
            <tr key={i} className={chosen === i ? 'chosen' : ''}>
              <th scope="row">
                <button type="button" className="link" title="Go to this crossing" onClick={() => goToCrossing(i)}>
                  {marks.lineA[i]} and {marks.lineB[i]}
                </button>
              </th>
              <td>{signed(marks.differenceM[i] as number, 2)} m</td>
              <td>
                {metres(marks.claimedM[i] as number, 2)}
                {isBeyond(marks, i) && <small>beyond</small>}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <div className="small-actions">
        {worst.length > LISTED && (
          <button type="button" aria-expanded={all} onClick={() => setAll(!all)}>
            {all ? 'Only the largest' : `All ${count(worst.length)}`}
          </button>
        )}
        <button type="button" onClick={() => download(new Blob([crossingsCsv(marks)], { type: 'text/csv' }), 'crossings.csv')}>
          CSV
        </button>
      </div>
    </section>
  );
}

function crossingsCsv(marks: CrossingMarks): string {
  const number = (value: number | undefined, decimals: number) => (value !== undefined && Number.isFinite(value) ? value.toFixed(decimals) : '');
  const rows = Array.from({ length: marks.n }, (_, i) => [marks.lineA[i], marks.lineB[i], number(marks.xM[i], 2), number(marks.yM[i], 2), number(marks.depthAM[i], 3), number(marks.depthBM[i], 3), number(marks.differenceM[i], 3), number(marks.claimedM[i], 3), number(marks.timeAS[i], 1), number(marks.timeBS[i], 1)].join(','));
  return ['line_a,line_b,east_m,north_m,depth_a_m,depth_b_m,b_less_a_m,claimed95_m,time_a_s,time_b_s', ...rows, ''].join('\n');
}

/** Each line against those that cross it. */
function LineTable({ crossings }: { readonly crossings: LoadedCrossings }) {
  if (crossings.lines.length === 0) return null;
  const worst = [...crossings.lines].sort((a, b) => Math.abs(b.offsetM) / (b.offsetHalf95M || 1) - Math.abs(a.offsetM) / (a.offsetHalf95M || 1));
  return (
    <details>
      <summary>Line by line</summary>
      <table className="list">
        <caption>How much deeper a line reads than the rest, once those it crosses are allowed for</caption>
        <thead>
          <tr>
            <th scope="col">Line</th>
            <th scope="col">Crossings</th>
            <th scope="col">Mean</th>
            <th scope="col">Own offset, 95 %</th>
          </tr>
        </thead>
        <tbody>
          {worst.map((one) => (
            <tr key={one.line}>
              <th scope="row">
                <button type="button" className="link" onClick={() => goToLine(one.line)}>
                  {one.line}
                </button>
              </th>
              <td>{count(one.count)}</td>
              <td>{signed(one.meanM, 2)} m</td>
              <td>
                {signed(one.offsetM, 2)} ± {fixed(one.offsetHalf95M, 2)} m{Math.abs(one.offsetM) > one.offsetHalf95M && <small>stands out</small>}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}

function PairTable({ crossings }: { readonly crossings: LoadedCrossings }) {
  if (crossings.pairs.length === 0) return null;
  const worst = [...crossings.pairs].sort((a, b) => Math.abs(b.meanM) - Math.abs(a.meanM));
  return (
    <details>
      <summary>Pair by pair</summary>
      <table className="list">
        <thead>
          <tr>
            <th scope="col">Lines</th>
            <th scope="col">Crossings</th>
            <th scope="col">Mean</th>
            <th scope="col">95 %</th>
          </tr>
        </thead>
        <tbody>
          {worst.map((one) => (
            <tr key={`${one.lineA} ${one.lineB}`}>
              <th scope="row">
                <button
                  type="button"
                  className="link"
                  onClick={() => {
                    for (let i = 0; i < crossings.n; i++) {
                      if (crossings.lineA[i] !== one.lineA || crossings.lineB[i] !== one.lineB) continue;
                      goToCrossing(i);
                      break;
                    }
                  }}
                >
                  {one.lineA} and {one.lineB}
                </button>
              </th>
              <td>{count(one.count)}</td>
              <td>{signed(one.meanM, 2)} m</td>
              <td>{metres(one.p95M, 2)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}

/** Differences in the order the later lines were run, with what the order allows: a step in time, a drift or one line shows. Null where the file does not say when. */
function differencePlot(marks: CrossingMarks, order: OrderName): Plot | null {
  const rows = Array.from({ length: marks.n }, (_, i) => i).filter((i) => Number.isFinite(marks.timeBS[i])).sort((a, b) => (marks.timeBS[a] as number) - (marks.timeBS[b] as number));
  if (rows.length < 2) return null;
  const startS = marks.timeBS[rows[0] as number] as number;
  const hours = Float64Array.from(rows, (i) => ((marks.timeBS[i] as number) - startS) / 3600);
  const limit = Float64Array.from(rows, (i) => Math.SQRT2 * tvuLimitM(order, ((marks.depthAM[i] as number) + (marks.depthBM[i] as number)) / 2));
  const y = Float64Array.from(rows, (i) => marks.differenceM[i] as number);
  return {
    name: 'crossings',
    title: 'Differences at crossings, by time',
    caption: `Later line less earlier, bars: 95 % that the soundings claim; dashed: what order ${orderName(order)} allows. From ${clock(startS, false)} UTC.`,
    x: { label: 'time of the later line', unit: 'h', column: 'time_h' },
    y: { label: 'difference', unit: 'm', column: 'difference_m', holds: [0] },
    equal: false,
    series: [
      { name: 'difference', style: 'dots', x: hours, y, half95: Float64Array.from(rows, (i) => marks.claimedM[i] as number) },
      { name: 'order allows', style: 'dashed', x: hours, y: limit },
      { name: 'order allows, shoaler', style: 'dashed', x: hours, y: limit.map((value) => -value) },
    ],
    marks: [],
  };
}
