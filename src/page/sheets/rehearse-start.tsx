import { useEffect, useId, useRef } from 'react';
import type { SurveySummary } from '../../survey/summary.js';
import { holdStart, letGo, rehearsal, settle } from '../state/rehearsal.js';
import { useStore } from '../state/store.js';
import { clock, date, fixed } from '../words/figures.js';
import { TimeField } from './time-field.js';

const DAY_S = 86_400;
const STEP_S = 300;

/** The start as a slider over its day and as fields, in UTC and local time; the verdict follows while it is dragged. */
export function RehearseStart({ summary, startS }: { readonly summary: SurveySummary; readonly startS: number | null }) {
  const live = useStore(rehearsal, (now) => now.live !== null);
  const liveMs = useStore(rehearsal, (now) => now.liveMs);
  const held = useStore(rehearsal, (now) => now.held.startS !== undefined);
  const offsetS = summary.settings.brief.utcOffsetH * 3600;
  const id = useId();
  const slider = useRef<HTMLInputElement>(null);
  const pressed = useRef(false);
  // The day is the local one: a crew does not leave across midnight because a meridian is far away.
  const at = startS ?? Math.ceil(Date.now() / 1000 / 3600) * 3600;
  const dayS = Math.floor((at + offsetS) / DAY_S) * DAY_S - offsetS;
  useEffect(() => {
    const up = () => {
      if (!pressed.current) return;
      pressed.current = false;
      void settle();
    };
    addEventListener('pointerup', up);
    addEventListener('pointercancel', up);
    return () => {
      removeEventListener('pointerup', up);
      removeEventListener('pointercancel', up);
    };
  }, []);
  const field = (label: string, shiftS: number) => <TimeField label={label} timeS={startS === null ? null : startS + shiftS} onTime={(timeS) => holdStart(timeS - shiftS, false)} />;
  return (
    <section className="start" aria-labelledby={`${id}-title`}>
      <h3 id={`${id}-title`}>Leaves at</h3>
      {startS === null && <p className="hint">No start is decided yet: move the slider, or look for a good one below.</p>}
      <input
        ref={slider}
        type="range"
        aria-label="Start, slider over the day"
        aria-valuetext={startS === null ? 'not decided' : `${clock(startS, false)} UTC`}
        min={dayS}
        max={dayS + DAY_S - STEP_S}
        step={STEP_S}
        value={at}
        onPointerDown={() => (pressed.current = true)}
        onChange={(event) => holdStart(Number(event.target.value), pressed.current)}
      />
      <div className="start-scale" aria-hidden="true">
        {[0, 6, 12, 18, 24].map((hour) => (
          <span key={hour}>{clock(dayS + hour * 3600, false)}</span>
        ))}
      </div>
      <div className="start-fields">
        {field('Start, UTC', 0)}
        {offsetS !== 0 && field(`Start, local,  UTC ${offsetS > 0 ? '+' : '−'}${fixed(Math.abs(offsetS / 3600), Number.isInteger(offsetS / 3600) ? 0 : 1)} h`, offsetS)}
      </div>
      <p className="hint" aria-live="off">
        {startS !== null && offsetS === 0 && `${date(startS)}; local time is UTC. `}
        {live && Number.isFinite(liveMs) ? `Followed quickly, in ${fixed(liveMs, 0)} ms; turns and keep-outs are judged in full once it is let go.` : ''}
      </p>
      {held && (
        <div className="small-actions">
          <button type="button" onClick={letGo}>
            Back to what is saved
          </button>
        </div>
      )}
    </section>
  );
}
