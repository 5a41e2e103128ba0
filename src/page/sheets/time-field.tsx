import { useId, useState } from 'react';

const TIME = /^\s*(\d{4})-(\d{2})-(\d{2})[T ]+(\d{1,2}):(\d{2})\s*Z?\s*$/;

/** `2026-06-17 08:20`. */
export function timeText(timeS: number): string {
  return new Date(timeS * 1000).toISOString().slice(0, 16).replace('T', ' ');
}

/** Seconds of a text such as `2026-06-17 08:20`; NaN where it is none. */
export function timeOfText(text: string): number {
  const found = TIME.exec(text);
  if (found === null) return NaN;
  const [year, month, day, hour, minute] = found.slice(1).map(Number) as [number, number, number, number, number];
  const timeS = Date.UTC(year, month - 1, day, hour, minute) / 1000;
  return timeText(timeS) === `${found[1]}-${found[2]}-${found[3]} ${String(hour).padStart(2, '0')}:${found[5]}` ? timeS : NaN;
}

/** A time in 24 hours, sent on Enter or when it is left; arrow keys move it by five minutes. */
export function TimeField({ label, timeS, onTime }: { readonly label: string; readonly timeS: number | null; readonly onTime: (timeS: number) => void }) {
  const id = useId();
  const [text, setText] = useState<string | null>(null);
  const [fault, setFault] = useState('');
  const shown = timeS === null ? '' : timeText(timeS);
  const read = (raw: string) => {
    if (raw.trim() === shown) {
      setFault('');
      return;
    }
    const value = timeOfText(raw);
    if (Number.isNaN(value)) {
      setFault(raw.trim() === '' ? '' : 'expected e.g. 2026-06-17 08:20');
      return;
    }
    setFault('');
    onTime(value);
  };
  return (
    <div className="start-field">
      <label htmlFor={id}>{label}</label>
      <input
        id={id}
        type="text"
        inputMode="numeric"
        autoComplete="off"
        spellCheck={false}
        placeholder="2026-06-17 08:20"
        value={text ?? shown}
        aria-invalid={fault !== ''}
        aria-describedby={`${id}-fault`}
        onChange={(event) => setText(event.target.value)}
        onBlur={(event) => {
          read(event.target.value);
          setText(null);
        }}
        onKeyDown={(event) => {
          if (event.key === 'Enter') {
            read(event.currentTarget.value);
            if (!Number.isNaN(timeOfText(event.currentTarget.value))) setText(null);
          }
          const step = { ArrowUp: 300, ArrowDown: -300 }[event.key];
          if (step !== undefined && timeS !== null) {
            event.preventDefault();
            setText(null);
            onTime(timeS + step);
          }
        }}
      />
      <small id={`${id}-fault`} className="fault">
        {fault}
      </small>
    </div>
  );
}
