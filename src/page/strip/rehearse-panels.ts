import type { RehearsalColumns } from '../../rehearse/rehearsal.js';
import type { GroundSettings, ShownRehearsal, ShownSortie } from '../work/rehearse-messages.js';
import { batteryOf, rowAtTime } from '../words/rehearse.js';
import { fixed } from '../words/figures.js';

/** A curve of one sortie. Shape of each column: [n]; NaN breaks it. */
export interface RehearseCurve {
  readonly timeS: Float64Array;
  readonly value: ArrayLike<number>;
  /** 95 % of the value; a band about it. */
  readonly half95?: ArrayLike<number>;
  /** True direction it sets towards [deg]: arrows along it. */
  readonly setDeg?: ArrayLike<number>;
  readonly dashed?: boolean;
}

/** What must not be passed. */
export interface RehearseLimit {
  readonly value: number;
  readonly text: string;
  /** From which side it is passed. */
  readonly bad: 'below' | 'above';
}

/** One quantity against time. */
export interface RehearsePanel {
  readonly key: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  readonly low: number;
  readonly high: number;
  readonly steps: readonly number[];
  readonly curves: readonly RehearseCurve[];
  readonly limits: readonly RehearseLimit[];
  /** Why there is nothing in it. */
  readonly missing: string;
}

interface Wanted {
  readonly key: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  readonly curves: readonly RehearseCurve[];
  readonly limits: readonly RehearseLimit[];
  readonly missing: string;
  /** Values the axis holds in any case. */
  readonly holds: readonly number[];
}

/** What a rehearsal has to show against time. */
export function rehearsePanels(shown: ShownRehearsal, settings: GroundSettings): RehearsePanel[] {
  const each = (make: (sortie: ShownSortie) => readonly RehearseCurve[]) => shown.sorties.flatMap(make);
  const plain = (pick: (columns: RehearsalColumns) => ArrayLike<number>, dashed = false) => each((one) => [{ timeS: one.columns.timeS, value: pick(one.columns), dashed }]);
  const first = shown.sorties[0];
  const battery = first === undefined ? null : batteryOf(first);
  const reserveWh = (battery?.holdsWh ?? NaN) * settings.sortie.reserveShare;
  const { leastWaterM, leastSunDeg } = settings.rehearse;
  const wanted: Wanted[] = [
    {
      key: 'energy_left_wh',
      title: 'energy left',
      unit: 'Wh',
      decimals: 0,
      curves: each((one) => {
        const { holdsWh, half95Wh } = batteryOf(one);
        return [{ timeS: one.columns.timeS, value: one.columns.energyWh.map((used) => holdsWh - used), half95: one.columns.energy95Wh.map((half) => Math.hypot(half, half95Wh)) }];
      }),
      limits: [{ value: reserveWh, text: 'reserve', bad: 'below' }],
      missing: '',
      holds: [0],
    },
    { key: 'water_under_m', title: 'water under the boat', unit: 'm', decimals: 1, curves: plain((c) => c.waterUnderM), limits: [{ value: leastWaterM, text: 'least', bad: 'below' }], missing: 'no depth is known: set rehearse.bottom', holds: [0] },
    { key: 'current_mps', title: 'current and its set', unit: 'm/s', decimals: 2, curves: each((one) => [{ timeS: one.columns.timeS, value: one.columns.currentMps, setDeg: one.columns.currentSetDeg }]), limits: [], missing: 'no current is known', holds: [0, 0.2] },
    { key: 'link_margin_db', title: 'link margin', unit: 'dB', decimals: 0, curves: plain((c) => c.linkMarginDb), limits: [{ value: 0, text: 'lost', bad: 'below' }], missing: 'no link is known', holds: [0, 10] },
    { key: 'ground_speed_mps', title: 'speed over ground · dashed: in water', unit: 'm/s', decimals: 2, curves: [...plain((c) => c.speedOverGroundMps), ...plain((c) => c.speedThroughWaterMps, true)], limits: [], missing: '', holds: [0] },
    { key: 'sun_deg', title: 'height of the sun', unit: '°', decimals: 0, curves: plain((c) => c.sunAltitudeDeg), limits: [{ value: leastSunDeg, text: 'least', bad: 'below' }], missing: '', holds: [0] },
  ];
  return wanted.map(scaled);
}

function scaled({ holds, ...panel }: Wanted): RehearsePanel {
  let low = Infinity;
  let high = -Infinity;
  const hold = (value: number) => {
    if (value < low) low = value;
    if (value > high) high = value;
  };
  let any = false;
  for (const { value, half95 } of panel.curves) {
    for (let i = 0; i < value.length; i++) {
      const v = value[i] as number;
      if (Number.isNaN(v)) continue;
      any = true;
      hold(v);
      const half = half95?.[i] ?? 0;
      if (half > 0) {
        hold(v + half);
        hold(Math.max(0, v - half));
      }
    }
  }
  for (const value of [...holds, ...panel.limits.map((limit) => limit.value)]) if (Number.isFinite(value)) hold(value);
  if (!(high > low)) high = low + 1;
  const span = high - low;
  const step = niceStep(span / 2.2);
  const steps: number[] = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9; k++) steps.push(Number((k * step).toPrecision(6)));
  return { ...panel, curves: any ? panel.curves : [], low, high: high + 0.04 * span, steps, missing: any ? '' : panel.missing };
}

function niceStep(rough: number): number {
  const power = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 5, 10].map((m) => m * power).find((step) => step >= rough) ?? 10 * power;
}

/** What a panel says of a moment; empty between sorties. */
export function panelValue(panel: RehearsePanel, timeS: number): { readonly text: string; readonly value: number } {
  for (const { timeS: times, value, half95, setDeg, dashed } of panel.curves) {
    const n = times.length;
    if (dashed === true || n === 0 || timeS < (times[0] as number) || timeS > (times[n - 1] as number)) continue;
    const row = rowAtTime(times, n, timeS);
    const next = Math.min(n - 1, row + 1);
    const gap = (times[next] as number) - (times[row] as number);
    const share = gap > 0 ? (timeS - (times[row] as number)) / gap : 0;
    const v = (value[row] as number) + share * ((value[next] as number) - (value[row] as number));
    if (!Number.isFinite(v)) continue;
    const half = half95?.[row];
    const set = setDeg?.[row];
    return { value: v, text: `${fixed(v, panel.decimals)}${half === undefined ? '' : ` ± ${fixed(half, panel.decimals)}`} ${panel.unit}${set === undefined || !(v > 0.005) ? '' : ` to ${String(Math.round(set) % 360).padStart(3, '0')}°`}` };
  }
  return { text: '', value: NaN };
}

/** All columns of a rehearsal as CSV, units in the header. */
export function rehearsalCsv(shown: ShownRehearsal): string {
  const header = 'sortie,time_utc,x_m,y_m,heading_deg,speed_over_ground_mps,speed_through_water_mps,leg,line,energy_left_wh,energy_left_95_wh,water_under_m,current_mps,current_set_deg,cross_track_m,link_margin_db,sun_deg';
  const number = (value: number | undefined, digits = 6) => (Number.isFinite(value) ? String(Number((value as number).toPrecision(digits))) : '');
  const rows = [header];
  for (const one of shown.sorties) {
    const c = one.columns;
    const { holdsWh, half95Wh } = batteryOf(one);
    for (let i = 0; i < c.n; i++) {
      const leg = one.legs[c.legIndex[i] as number];
      rows.push(
        [one.number, new Date((c.timeS[i] as number) * 1000).toISOString(), number(c.xM[i], 10), number(c.yM[i], 10), number(c.headingDeg[i], 5), number(c.speedOverGroundMps[i]), number(c.speedThroughWaterMps[i]), leg?.kind ?? '', leg?.line ?? '', number(holdsWh - (c.energyWh[i] as number)), number(Math.hypot(c.energy95Wh[i] as number, half95Wh)), number(c.waterUnderM[i]), number(c.currentMps[i]), number(c.currentSetDeg[i], 5), number(c.crossTrackM[i]), number(c.linkMarginDb[i]), number(c.sunAltitudeDeg[i])].join(','),
      );
    }
  }
  return `${rows.join('\n')}\n`;
}
