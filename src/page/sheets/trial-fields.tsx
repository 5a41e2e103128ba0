import { useId, useState } from 'react';
import { clockTenths, timeFromClock } from '../words/trials.js';

/** A time of day typed to a tenth of a second, told on Enter or when it is left; a wrong one says what is expected. */
export function TimeField({ label, valueS, lowS, highS, onValue }: { readonly label: string; readonly valueS: number; readonly lowS: number; readonly highS: number; readonly onValue: (timeS: number) => void }) {
  const id = useId();
  const [text, setText] = useState<string | null>(null);
  const [fault, setFault] = useState('');
  const settle = () => {
    if (text === null) return;
    const timeS = timeFromClock(text, valueS);
    setText(null);
    if (text === clockTenths(valueS)) {
      setFault('');
      return;
    }
    if (Number.isNaN(timeS)) setFault('expected hh:mm:ss');
    else if (timeS < lowS || timeS > highS) setFault(`expected ${clockTenths(lowS)} to ${clockTenths(highS)}`);
    else {
      setFault('');
      onValue(timeS);
    }
  };
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <span>
        <input id={id} type="text" inputMode="numeric" value={text ?? clockTenths(valueS)} aria-invalid={fault !== ''} aria-describedby={`${id}-fault`} onChange={(event) => setText(event.target.value)} onBlur={settle} onKeyDown={(event) => event.key === 'Enter' && settle()} />
        <i>UTC</i>
      </span>
      <small id={`${id}-fault`} className="fault">
        {fault}
      </small>
    </div>
  );
}
