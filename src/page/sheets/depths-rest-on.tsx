import { useId, useState } from 'react';
import type { Settings } from '../../survey/settings.js';
import type { SurveySummary } from '../../survey/summary.js';
import { setRestOn, takeWater } from '../state/rest-on.js';
import { fixed, metres, signed } from '../words/figures.js';
import { orderName } from '../words/names.js';
import { Choice } from './choice.js';
import { Figures, FileButton, NumberField, UndoRow } from './parts.js';

const ORDERS: readonly Settings['order'][] = ['exclusive', 'special', '1a', '1b', '2'];
const TABLES = '.csv,.txt,.dat,text/csv,text/plain';

/** What depths are reduced with: datum, water level, sound speed, and how the instruments sit. */
export function DepthsRestOn({ summary }: { readonly summary: SurveySummary }) {
  const { settings } = summary;
  return (
    <section aria-label="What the depths rest on">
      <h3 className="apart">What they rest on</h3>
      <Figures label="Corrections" rows={[levelRow(summary), soundRow(settings)]} />
      <div className="small-actions">
        <FileButton accept={`${TABLES},.json`} multiple={false} onFiles={([file]) => file !== undefined && void takeWater('level', file)}>
          Water level from a file…
        </FileButton>
        <FileButton accept={TABLES} multiple={false} onFiles={([file]) => file !== undefined && void takeWater('sound-speed', file)}>
          Sound-speed cast…
        </FileButton>
      </div>
      <details>
        <summary>What such files look like, or one figure for all</summary>
        <p className="hint">Water level: a CSV with the columns timeUtc and levelM, or constituents as JSON. Sound speed: a CSV with depthM and soundSpeedMps, or with temperature and salinity. They are kept in the survey folder under water/.</p>
        <OneFigure settings={settings} />
      </details>
      <div className="chart-choice">
        <DatumField datum={settings.datum} />
        <Choice label="Order aimed at" value={settings.order} options={ORDERS.map((order) => [order, orderName(order)] as const)} onValue={(order) => void setRestOn('order', order, `order aimed at: ${orderName(order)}`)} />
      </div>
      <Instruments settings={settings} />
      <Clock settings={settings} />
      <UndoRow />
    </section>
  );
}

function levelRow({ settings, soundings }: SurveySummary) {
  const { level } = settings.water;
  const range = soundings === null ? undefined : `${signed(soundings.waterLevelMinM, 2)} to ${signed(soundings.waterLevelMaxM, 2)} m above ${settings.datum}`;
  return {
    label: 'Water level',
    value: level.kind === 'none' ? 'not reduced' : level.kind === 'constant' ? `${signed(level.levelM, 2)} m` : level.kind === 'series' ? 'gauge series' : level.kind === 'constituents' ? 'tide constituents' : level.kind === 'gauges' ? 'gauges elsewhere' : 'GNSS heights',
    worth: level.kind === 'none' ? 'depths are below the water of the moment' : level.kind === 'constant' || level.kind === 'gnss-height' ? range : `${level.kind === 'gauges' ? level.gauges.map(({ file }) => file).join(', ') : level.file}${range === undefined ? '' : `; ${range}`}`,
  };
}

function soundRow({ sounder, water: { soundSpeed: speed } }: Settings) {
  return {
    label: 'Sound speed',
    value: speed.kind === 'as-set' ? `as set, ${fixed(sounder.soundSpeedSetMps, 0)} m/s` : speed.kind === 'constant' ? `${fixed(speed.soundSpeedMps, 1)} m/s` : speed.kind === 'profile' ? 'cast' : 'casts',
    worth: speed.kind === 'as-set' ? 'nothing measured: no correction made' : speed.kind === 'constant' ? `instrument set to ${fixed(sounder.soundSpeedSetMps, 0)} m/s` : speed.kind === 'profile' ? speed.file : `${speed.casts.length} casts, ${speed.rule.replaceAll('-', ' ')}`,
  };
}

/** One water level or sound speed for the whole survey, or none. */
function OneFigure({ settings: { water, sounder } }: { readonly settings: Settings }) {
  const { level, soundSpeed } = water;
  return (
    <>
      <div className="fields two">
        <NumberField label="One water level" unit="m" value={level.kind === 'constant' ? level.levelM : null} min={-20} max={20} step={0.1} decimals={3} settled onValue={(levelM) => levelM !== null && void setRestOn('water.level', { kind: 'constant', levelM }, `one water level: ${metres(levelM, 2)}`)} />
        <NumberField label="One sound speed" unit="m/s" value={soundSpeed.kind === 'constant' ? soundSpeed.soundSpeedMps : null} min={1350} max={1650} step={1} decimals={1} settled onValue={(soundSpeedMps) => soundSpeedMps !== null && void setRestOn('water.soundSpeed', { kind: 'constant', soundSpeedMps }, `one sound speed: ${fixed(soundSpeedMps, 1)} m/s`)} />
      </div>
      <div className="small-actions">
        <button type="button" disabled={level.kind === 'none'} onClick={() => void setRestOn('water.level', { kind: 'none' }, 'no water level taken off')}>
          No water level
        </button>
        <button type="button" disabled={soundSpeed.kind === 'as-set'} onClick={() => void setRestOn('water.soundSpeed', { kind: 'as-set' }, `sound speed as the sounder is set, ${fixed(sounder.soundSpeedSetMps, 0)} m/s`)}>
          Sound speed as set
        </button>
      </div>
    </>
  );
}

/** What the logs' times are corrected by. */
function Clock({ settings: { time } }: { readonly settings: Settings }) {
  const id = useId();
  const [typed, setTyped] = useState<string | null>(null);
  const shown = typed ?? time.noDate ?? '';
  const whole = shown === '' || /^\d{4}-\d{2}-\d{2}$/.test(shown);
  const send = () => {
    if (!whole) return;
    const date = shown === '' ? null : shown;
    if (date !== time.noDate) void setRestOn('time.noDate', date, date === null ? 'no date for logs without one' : `date of logs without one: ${date}`);
    setTyped(null);
  };
  return (
    <details>
      <summary>Clock of the logs</summary>
      <div className="fields two">
        <div className="field">
          <label htmlFor={id}>Date of logs without one</label>
          <span>
            <input id={id} type="text" value={shown} placeholder="2026-06-17" aria-invalid={!whole} aria-describedby={`${id}-fault`} onChange={(event) => setTyped(event.target.value.trim())} onBlur={send} onKeyDown={(event) => event.key === 'Enter' && send()} />
          </span>
          <small id={`${id}-fault`} className="fault">
            {whole ? '' : 'expected year, month, day, as 2026-06-17'}
          </small>
        </div>
        <NumberField label="Added to logged times" unit="s" value={time.loggerOffsetS} min={-1e6} max={1e6} step={1} decimals={3} settled onValue={(given) => given !== null && void setRestOn('time.loggerOffsetS', given, `added to logged times: ${given} s`)} />
      </div>
    </details>
  );
}

function DatumField({ datum }: { readonly datum: string }) {
  const id = useId();
  const [typed, setTyped] = useState<string | null>(null);
  const send = () => {
    const name = (typed ?? datum).trim();
    if (name !== '' && name !== datum) void setRestOn('datum', name, `datum: ${name}`);
    setTyped(null);
  };
  return (
    <div className="field">
      <label htmlFor={id}>Datum</label>
      <span>
        <input id={id} type="text" maxLength={120} value={typed ?? datum} onChange={(event) => setTyped(event.target.value)} onBlur={send} onKeyDown={(event) => event.key === 'Enter' && send()} />
      </span>
    </div>
  );
}

type Field = readonly [path: string, label: string, unit: string, value: number, least: number, most: number, step: number, decimals: number];

/** How the instruments are set and sit on the boat. */
function Instruments({ settings: { sounder, gnss } }: { readonly settings: Settings }) {
  const [antenna, transducer] = [gnss.antenna, sounder.transducer];
  const arm = (path: string, name: string, at: typeof antenna): readonly Field[] => [
    [`${path}.forwardM`, `${name}, ahead`, 'm', at.forwardM, -50, 50, 0.05, 3],
    [`${path}.starboardM`, `${name}, to starboard`, 'm', at.starboardM, -50, 50, 0.05, 3],
    [`${path}.downM`, `${name}, down`, 'm', at.downM, -50, 50, 0.05, 3],
  ];
  const fields = (rows: readonly Field[]) => (
    <div className="fields two">
      {rows.map(([path, label, unit, value, least, most, step, decimals]) => (
        <NumberField key={path} label={label} unit={unit} value={value} min={least} max={most} step={step} decimals={decimals} settled onValue={(given) => given !== null && void setRestOn(path, given, `${label.toLowerCase()}: ${given} ${unit}`)} />
      ))}
    </div>
  );
  return (
    <>
      {fields([
        ['sounder.draftM', 'Draft', 'm', sounder.draftM, 0, 20, 0.01, 3],
        ['sounder.soundSpeedSetMps', 'Sound speed set', 'm/s', sounder.soundSpeedSetMps, 1300, 1700, 1, 1],
      ])}
      <details>
        <summary>Where the instruments sit, and how well positions are known</summary>
        <p className="hint">From a point of the boat of your choice, the same for both.</p>
        {fields([
          ...arm('gnss.antenna', 'Antenna', antenna),
          ...arm('sounder.transducer', 'Transducer', transducer),
          ['gnss.sigmaM', 'Position, one sigma', 'm', gnss.sigmaM, 0.005, 100, 0.1, 3],
          ['sounder.squatM', 'Squat under way', 'm', sounder.squatM, -1, 1, 0.01, 3],
        ])}
      </details>
    </>
  );
}
