import { DERIVED_LABELS, LOCKABLE, sensorFor, type Lockable } from '../../lines/purpose-values.js';
import type { DerivedName, DerivedValue } from '../../lines/objective.js';
import type { SurveySummary } from '../../survey/summary.js';
import { setLocked, setPurpose } from '../state/purpose.js';
import type { PlanDraft } from '../state/stores.js';
import { fixed } from '../words/figures.js';
import { Choice } from './choice.js';
import { NumberField } from './parts.js';

type Purpose = PlanDraft['purpose']['purpose'];
type PurposeKind = Purpose['kind'];
type Sensor = NonNullable<PlanDraft['purpose']['sensor']>;

const PURPOSES: readonly (readonly [PurposeKind, string])[] = [
  ['own', 'lines of my own'],
  ['depths-order', 'depths to an S-44 order'],
  ['depths-scale', 'depths for a chart scale'],
  ['imagery', 'pictures of the bottom'],
  ['objects', 'finding objects'],
  ['vegetation', 'vegetation'],
];
const ORDERS = [
  ['2', 'Order 2'],
  ['1b', 'Order 1b'],
  ['1a', 'Order 1a'],
  ['special', 'Special Order'],
  ['exclusive', 'Exclusive Order'],
] as const;
const LAWS = [
  ['inverse-cube', 'parallel lines, kept with error'],
  ['random', 'tracks without a pattern'],
  ['definite', 'lines kept exactly'],
] as const;
const SENSORS: readonly (readonly [Sensor['kind'] | 'usual', string])[] = [
  ['usual', 'as the survey has it'],
  ['single-beam', 'single beam'],
  ['swath', 'swath'],
  ['side-scan', 'side-scan'],
];

/** A purpose of a kind, with figures to begin from. */
function startOf(kind: PurposeKind, order: SurveySummary['settings']['order']): Purpose {
  switch (kind) {
    case 'own':
      return { kind };
    case 'depths-order':
      return { kind, order };
    case 'depths-scale':
      return { kind, scale: 5000 };
    case 'imagery':
      return { kind, rangeM: null, folds: 1, objectM: 1, hits: 3 };
    case 'objects':
      return { kind, sizeM: 1, chance: 0.9, law: 'inverse-cube', hits: 3 };
    case 'vegetation':
      return { kind, patchM: 20, pingsPerM: 2 };
  }
}

function sensorStart(kind: Sensor['kind'], sounder: SurveySummary['settings']['sounder']): Sensor {
  if (kind === 'side-scan') return { kind, beamDeg: 1, mostRangeM: 50, heightM: null, draftM: sounder.draftM, soundMps: sounder.soundSpeedSetMps };
  const beam = { beamDeg: sounder.beamWidthDeg, pingHz: 10, draftM: sounder.draftM };
  return kind === 'swath' ? { kind, swathDeg: 120, ...beam, beamDeg: 2 } : { kind, ...beam };
}

/** What the survey is for, what looks at the bottom and how deep it is: the lines follow, each value with its reason. */
export function LinesPurpose({ plan, summary }: { readonly plan: PlanDraft; readonly summary: SurveySummary }) {
  const { purpose, sensor, depthM, derived, fault } = plan.purpose;
  const { settings } = summary;
  const own = purpose.kind === 'own';
  const { bottom } = settings.rehearse;
  const known = bottom.kind === 'constant' ? `${fixed(bottom.depthM, 1)}` : bottom.kind === 'raster' ? 'earlier survey' : 'how deep?';
  const used = derived?.sensor ?? sensorFor(purpose, sensor, settings.sounder);
  return (
    <section className="purpose" aria-label="What the survey is for">
      <div className="choices">
        <Choice label="The survey is for" value={purpose.kind} options={PURPOSES} onValue={(kind) => setPurpose({ purpose: startOf(kind, settings.order) })} />
        <PurposeChoices purpose={purpose} />
        {!own && <Choice label="Seen by" value={sensor?.kind ?? 'usual'} options={SENSORS} onValue={(kind) => setPurpose({ sensor: kind === 'usual' ? null : sensorStart(kind, settings.sounder) })} />}
      </div>
      {!own && (
        <div className="fields" role="group" aria-label="Figures of the purpose">
          <PurposeFields purpose={purpose} />
          <NumberField label="Depth" unit="m" value={depthM} min={0.1} max={500} step={0.5} decimals={2} allowEmpty placeholder={known} onValue={(value) => setPurpose({ depthM: value })} />
          {sensor !== null && <SensorFields sensor={sensor} />}
        </div>
      )}
      {!own && sensor === null && <p className="hint">Seen by a {sensorWords(used)}{derived === null ? '' : `; depth: ${derived.depth}`}.</p>}
      {fault !== null && !own && (
        <p className="note bad" role="alert">
          {fault}
        </p>
      )}
    </section>
  );
}

function sensorWords(sensor: Sensor): string {
  if (sensor.kind === 'side-scan') return `side-scan, at most ${fixed(sensor.mostRangeM, 0)} m a side`;
  return sensor.kind === 'swath' ? `swath of ${fixed(sensor.swathDeg, 0)}°` : `single beam of ${fixed(sensor.beamDeg, 0)}°`;
}

function PurposeChoices({ purpose }: { readonly purpose: Purpose }) {
  if (purpose.kind === 'depths-order') return <Choice label="Order aimed at" value={purpose.order} options={ORDERS} onValue={(order) => setPurpose({ purpose: { ...purpose, order } })} />;
  if (purpose.kind === 'objects') return <Choice label="How well lines are kept" value={purpose.law} options={LAWS} onValue={(law) => setPurpose({ purpose: { ...purpose, law } })} />;
  return null;
}

function PurposeFields({ purpose }: { readonly purpose: Purpose }) {
  switch (purpose.kind) {
    case 'own':
    case 'depths-order':
      return null;
    case 'depths-scale':
      return <NumberField label="Chart at 1 :" unit="" value={purpose.scale} min={100} max={1_000_000} step={500} decimals={0} onValue={(scale) => scale !== null && setPurpose({ purpose: { ...purpose, scale } })} />;
    case 'imagery':
      return (
        <>
          <NumberField label="Range a side" unit="m" value={purpose.rangeM} min={1} max={500} step={5} decimals={1} allowEmpty placeholder="by depth" onValue={(rangeM) => setPurpose({ purpose: { ...purpose, rangeM } })} />
          <NumberField label="Times covered" unit="" value={purpose.folds} min={1} max={10} step={1} decimals={0} onValue={(folds) => folds !== null && setPurpose({ purpose: { ...purpose, folds: Math.round(folds) } })} />
          <NumberField label="Object size" unit="m" value={purpose.objectM} min={0.05} max={50} step={0.1} decimals={2} onValue={(objectM) => objectM !== null && setPurpose({ purpose: { ...purpose, objectM } })} />
        </>
      );
    case 'objects':
      return (
        <>
          <NumberField label="Object size" unit="m" value={purpose.sizeM} min={0.05} max={50} step={0.1} decimals={2} onValue={(sizeM) => sizeM !== null && setPurpose({ purpose: { ...purpose, sizeM } })} />
          <NumberField label="Chance to find" unit="%" value={purpose.chance * 100} min={1} max={99.9} step={5} decimals={1} onValue={(chance) => chance !== null && setPurpose({ purpose: { ...purpose, chance: chance / 100 } })} />
        </>
      );
    case 'vegetation':
      return (
        <>
          <NumberField label="Patch size" unit="m" value={purpose.patchM} min={0.5} max={1000} step={1} decimals={1} onValue={(patchM) => patchM !== null && setPurpose({ purpose: { ...purpose, patchM } })} />
          <NumberField label="Echoes a metre" unit="/m" value={purpose.pingsPerM} min={0.1} max={50} step={0.5} decimals={1} onValue={(pingsPerM) => pingsPerM !== null && setPurpose({ purpose: { ...purpose, pingsPerM } })} />
        </>
      );
  }
}

function SensorFields({ sensor }: { readonly sensor: Sensor }) {
  if (sensor.kind === 'side-scan') {
    return (
      <>
        <NumberField label="Longest range" unit="m" value={sensor.mostRangeM} min={1} max={1000} step={5} decimals={0} onValue={(mostRangeM) => mostRangeM !== null && setPurpose({ sensor: { ...sensor, mostRangeM } })} />
        <NumberField label="Beam along track" unit="°" value={sensor.beamDeg} min={0.1} max={10} step={0.1} decimals={2} onValue={(beamDeg) => beamDeg !== null && setPurpose({ sensor: { ...sensor, beamDeg } })} />
        <NumberField label="Height over bottom" unit="m" value={sensor.heightM} min={0.5} max={200} step={0.5} decimals={1} allowEmpty placeholder="on the hull" onValue={(heightM) => setPurpose({ sensor: { ...sensor, heightM } })} />
      </>
    );
  }
  return (
    <>
      {sensor.kind === 'swath' && <NumberField label="Swath" unit="°" value={sensor.swathDeg} min={10} max={170} step={5} decimals={0} onValue={(swathDeg) => swathDeg !== null && setPurpose({ sensor: { ...sensor, swathDeg } })} />}
      <NumberField label="Beam" unit="°" value={sensor.beamDeg} min={0.1} max={90} step={1} decimals={1} onValue={(beamDeg) => beamDeg !== null && setPurpose({ sensor: { ...sensor, beamDeg } })} />
      <NumberField label="Pings" unit="/s" value={sensor.pingHz} min={0.1} max={200} step={1} decimals={1} onValue={(pingHz) => pingHz !== null && setPurpose({ sensor: { ...sensor, pingHz } })} />
    </>
  );
}

function valueText({ value, unit }: DerivedValue): string {
  if (Number.isNaN(value)) return 'free';
  if (unit === '1') return `${fixed(value * 100, 0)} %`;
  return `${Number(value.toFixed(2))} ${unit === 'deg true' ? '° true' : unit}`;
}

/** Every value that the purpose derives, with its reason and source; each can be held as it is. Nothing for lines of one's own. */
export function LinesReasons({ plan }: { readonly plan: PlanDraft }) {
  const { derived, locked, purpose } = plan.purpose;
  if (derived === null || purpose.kind === 'own') return null;
  const names = (Object.keys(DERIVED_LABELS) as DerivedName[]).filter((name) => name === 'headingDeg' || !Number.isNaN(derived.values[name].value));
  return (
    <details className="reasons" open>
      <summary>Why these values</summary>
      <table className="derived" aria-label="Values with their reasons">
        <tbody>
          {names.map((name) => {
            const one = derived.values[name];
            const holds = LOCKABLE.find((each) => each === name);
            return (
              <tr key={name}>
                <th scope="row">{DERIVED_LABELS[name]}</th>
                <td>
                  <strong>{valueText(one)}</strong>
                  <small>
                    {one.why}; {one.source}
                  </small>
                </td>
                <td>{holds !== undefined && <Hold name={holds} held={locked.includes(holds)} />}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
      {derived.notes.map((note) => (
        <p key={note} className="note">
          {note}
        </p>
      ))}
    </details>
  );
}

function Hold({ name, held }: { readonly name: Lockable; readonly held: boolean }) {
  return (
    <button type="button" aria-pressed={held} aria-label={`${held ? 'Held' : 'Hold'}: ${DERIVED_LABELS[name]}`} onClick={() => setLocked(name, !held)}>
      {held ? 'Held' : 'Hold'}
    </button>
  );
}
