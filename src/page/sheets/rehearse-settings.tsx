import type { LostLinkBehaviour } from '../../rehearse/rehearsal.js';
import type { SurveySummary } from '../../survey/summary.js';
import { holdSettings, rehearsal, settingsNow } from '../state/rehearsal.js';
import { useStore } from '../state/store.js';
import { LOST_LINK_WORDS } from '../words/rehearse.js';
import { Choice } from './choice.js';
import { NumberField } from './parts.js';

/** What the crew asks of the day, at hand: followed at once, saved when it rests. */
export function RehearseSettings({ summary }: { readonly summary: SurveySummary }) {
  const state = useStore(rehearsal);
  const { rehearse, sortie, water } = settingsNow(state, summary);
  const { current } = water;
  const wind = rehearse.wind;
  const constant = current.kind === 'constant' ? current : null;
  return (
    <details className="rehearse-settings">
      <summary>Settings at hand</summary>
      <div className="choices">
        <Choice label="If the link drops, the boat" value={rehearse.lostLink} options={Object.entries(LOST_LINK_WORDS) as [LostLinkBehaviour, string][]} onValue={(value) => holdSettings({ 'rehearse.lostLink': value })} />
        <Choice
          label="A lost link is"
          value={rehearse.linkLostIsNoGo ? 'no-go' : 'caution'}
          options={[
            ['caution', 'a caution'],
            ['no-go', 'a no-go'],
          ]}
          onValue={(value) => holdSettings({ 'rehearse.linkLostIsNoGo': value === 'no-go' })}
        />
        <Choice
          label="At corners"
          value={rehearse.turning}
          options={[
            ['on-the-go', 'turns under way'],
            ['stop-and-turn', 'stops and turns'],
          ]}
          onValue={(value) => holdSettings({ 'rehearse.turning': value })}
        />
        <Choice
          label="Current"
          value={current.kind}
          options={[
            ['none', 'none'],
            ['constant', 'one that stays'],
            ...(summary.settings.water.current.kind === 'file' ? ([['file', `from ${summary.settings.water.current.file}`]] as const) : []),
          ]}
          onValue={(kind) => holdSettings({ 'water.current': kind === 'none' ? { kind } : kind === 'constant' ? { kind, speedMps: 0.2, setDeg: 90, sigmaMps: 0.1 } : summary.settings.water.current })}
        />
      </div>
      <div className="fields" role="group" aria-label="Settings of the rehearsal">
        {constant !== null && <NumberField label="Current" unit="m/s" value={constant.speedMps} min={0} max={5} step={0.05} decimals={2} onValue={(value) => value !== null && holdSettings({ 'water.current': { ...constant, speedMps: value } })} />}
        {constant !== null && <NumberField label="Sets to" unit="°" value={constant.setDeg} min={0} max={359} step={5} decimals={0} onValue={(value) => value !== null && holdSettings({ 'water.current': { ...constant, setDeg: value } })} />}
        <NumberField label="Wind" unit="m/s" value={wind?.speedMps ?? 0} min={0} max={40} step={0.5} decimals={1} onValue={(value) => value !== null && holdSettings({ 'rehearse.wind': value === 0 ? null : { speedMps: value, fromDeg: wind?.fromDeg ?? 270 } })} />
        {wind !== null && <NumberField label="Wind from" unit="°" value={wind.fromDeg} min={0} max={359} step={5} decimals={0} onValue={(value) => value !== null && holdSettings({ 'rehearse.wind': { ...wind, fromDeg: value } })} />}
        {wind !== null && <NumberField label="Leeway" unit="%" value={rehearse.leewayShare * 100} min={0} max={50} step={0.5} decimals={1} onValue={(value) => value !== null && holdSettings({ 'rehearse.leewayShare': value / 100 })} />}
        <NumberField label="Least water" unit="m" value={rehearse.leastWaterM} min={0} max={20} step={0.1} decimals={2} onValue={(value) => value !== null && holdSettings({ 'rehearse.leastWaterM': value })} />
        <NumberField label="Battery" unit="%" value={sortie.batteryShare * 100} min={5} max={100} step={5} decimals={0} onValue={(value) => value !== null && holdSettings({ 'sortie.batteryShare': value / 100 })} />
        <NumberField label="Reserve" unit="%" value={sortie.reserveShare * 100} min={0} max={90} step={5} decimals={0} onValue={(value) => value !== null && holdSettings({ 'sortie.reserveShare': value / 100 })} />
        <NumberField label="Least sun" unit="°" value={rehearse.leastSunDeg} min={-18} max={90} step={0.5} decimals={1} onValue={(value) => value !== null && holdSettings({ 'rehearse.leastSunDeg': value })} />
        <NumberField label="Local less UTC" unit="h" value={summary.settings.brief.utcOffsetH} min={-14} max={14} step={1} decimals={2} settled onValue={(value) => value !== null && holdSettings({ 'brief.utcOffsetH': value })} />
      </div>
      <p className="hint">Each change is rehearsed at once and kept in the survey; Undo takes it back.</p>
    </details>
  );
}
