import type { InstrumentCheck } from '../../survey/instrument-checks.js';
import type { Plot, PlotSeries } from './plot.js';

type Evidence = NonNullable<InstrumentCheck['evidence']>;
type Of<K extends Evidence['kind']> = Extract<Evidence, { readonly kind: K }>;

/** What an instrument check rests on as a plot, with what it found and what the settings say. Null where there is nothing to draw. */
export function instrumentPlot(check: Pick<InstrumentCheck, 'evidence' | 'values' | 'state'>): Plot | null {
  const { evidence } = check;
  switch (evidence?.kind) {
    case 'bar':
      return barPlot(evidence);
    case 'static':
      return evidence.stays.every(({ eastM }) => eastM.length === 0) ? null : staticPlot(evidence);
    case 'heading':
      return evidence.runs.length === 0 ? null : headingPlot(evidence, check.values);
    case 'latency':
      return evidence.pairs.length === 0 ? null : latencyPlot(evidence, check.values);
    default:
      return null;
  }
}

/** What has to be added to a reading to get the plate's depth, by depth: a level line is a draft, a leaning one a sound speed. */
function barPlot({ checks, set }: Of<'bar'>): Plot {
  const reads = checks.flatMap(({ rows }) => rows.map(({ readM }) => readM));
  const ends = Float64Array.of(0, Math.max(1, ...reads));
  const added = ({ scale, draftM }: { readonly scale: number; readonly draftM: number }) => ends.map((readM) => (scale - 1) * readM + draftM);
  const series: PlotSeries[] = checks.map(({ whenUtc, rows }) => ({
    name: whenUtc === null ? 'readings' : `readings ${whenUtc.slice(11, 16)}`,
    style: 'dots',
    x: Float64Array.from(rows, ({ readM }) => readM),
    y: Float64Array.from(rows, ({ barM, readM }) => barM - readM),
    half95: Float64Array.from(rows, ({ half95M }) => half95M),
  }));
  for (const { fit } of checks) if (fit !== null) series.push({ name: 'found', style: 'line', chosen: true, x: ends, y: added(fit) });
  series.push({ name: 'set', style: 'dashed', x: ends, y: added(set) });
  return {
    name: 'bar-check',
    title: 'Plate less reading',
    caption: 'Bars: 95 % of the plate. Line: draft and sound speed as found; dashed: as set.',
    x: { label: 'reading', unit: 'm', column: 'reading_m', holds: [0] },
    y: { label: 'to be added', unit: 'm', column: 'plate_less_reading_m', holds: [0] },
    equal: false,
    series,
    marks: [],
  };
}

function ring(radiusM: number): { readonly x: Float64Array; readonly y: Float64Array } {
  const turn = (k: number) => (k * Math.PI) / 36;
  return { x: Float64Array.from({ length: 73 }, (_, k) => radiusM * Math.cos(turn(k))), y: Float64Array.from({ length: 73 }, (_, k) => radiusM * Math.sin(turn(k))) };
}

/** Fixes about the mark. */
function staticPlot({ stays }: Of<'static'>): Plot {
  const worst = stays.reduce((one, other) => (other.radius95M > one.radius95M ? other : one));
  const series: PlotSeries[] = stays.map(({ eastM, northM }, i) => ({ name: `fixes ${i + 1}`, style: 'dots', x: Float64Array.from(eastM), y: Float64Array.from(northM) }));
  if (worst.radius95M > 0) series.push({ name: '95 % of the fixes', style: 'line', chosen: true, ...ring(worst.radius95M) });
  // A limit many times as wide would leave the fixes a dot.
  if (worst.limitM < 8 * worst.radius95M) series.push({ name: 'order allows', style: 'dashed', ...ring(worst.limitM) });
  return {
    name: 'static-check',
    title: 'Fixes about the mark',
    caption: `Ring: 95 % of them within ${worst.radius95M.toFixed(2)} m of the mark; the order allows ${worst.limitM.toFixed(1)} m${worst.limitM < 8 * worst.radius95M ? ', dashed' : ''}.`,
    x: { label: 'east of the mark', unit: 'm', column: 'east_m', holds: [0] },
    y: { label: 'north', unit: 'm', column: 'north_m', holds: [0] },
    equal: true,
    series,
    marks: [{ from: [0, 0], to: [0, 0], text: 'mark', style: 'point' }],
  };
}

/** A value with its 95 % as a band across the plot. */
function band(name: string, from: number, to: number, found: InstrumentCheck['values'][number] | undefined): PlotSeries[] {
  if (found === undefined || !Number.isFinite(found.value)) return [];
  const x = Float64Array.of(from, to);
  return [{ name, style: 'line', chosen: true, x, y: Float64Array.of(found.value, found.value), ...(Number.isFinite(found.half95) && found.half95 !== null ? { half95: Float64Array.of(found.half95, found.half95) } : {}) }];
}

function headingPlot({ runs, setDeg }: Of<'heading'>, values: InstrumentCheck['values']): Plot {
  return {
    name: 'heading-check',
    title: 'Compass less course, by run',
    caption: 'Bars and band: 95 %. The band is the offset found from runs both ways: on either side of it by as much the boat crabs. Dashed: what is taken off now.',
    x: { label: 'course', unit: 'deg', column: 'course_deg', holds: [0, 360] },
    y: { label: 'compass less course', unit: 'deg', column: 'compass_less_course_deg', holds: [0] },
    equal: false,
    series: [
      ...band('offset', 0, 360, values[0]),
      { name: 'taken off', style: 'dashed', x: Float64Array.of(0, 360), y: Float64Array.of(setDeg, setDeg) },
      { name: 'runs', style: 'dots', x: Float64Array.from(runs, ({ courseDeg }) => courseDeg), y: Float64Array.from(runs, ({ offDeg }) => offDeg), half95: Float64Array.from(runs, ({ half95Deg }) => half95Deg) },
    ],
    marks: [],
  };
}

function latencyPlot({ pairs, setS }: Of<'latency'>, values: InstrumentCheck['values']): Plot {
  const [from, to] = [0.5, pairs.length + 0.5];
  return {
    name: 'latency-run',
    title: 'Age of positions, by line run both ways',
    caption: 'Bars and band: 95 %; the band is all lines together. Dashed: what is corrected now.',
    x: { label: 'line', unit: '', column: 'line', holds: [from, to] },
    y: { label: 'age', unit: 's', column: 'age_s', holds: [0] },
    equal: false,
    series: [
      ...band('all lines', from, to, values[0]),
      { name: 'corrected', style: 'dashed', x: Float64Array.of(from, to), y: Float64Array.of(setS, setS) },
      { name: 'lines', style: 'dots', x: Float64Array.from(pairs, (_, i) => i + 1), y: Float64Array.from(pairs, ({ latencyS }) => latencyS), half95: Float64Array.from(pairs, ({ half95S }) => half95S) },
    ],
    marks: [],
  };
}
