import { useId } from 'react';

/** One of a few, by its words. */
export function Choice<V extends string>({ label, value, options, onValue }: { readonly label: string; readonly value: V; readonly options: readonly (readonly [V, string])[]; readonly onValue: (value: V) => void }) {
  const id = useId();
  return (
    <div className="choice">
      <label htmlFor={id}>{label}</label>
      <select id={id} value={value} onChange={(event) => onValue(event.target.value as V)}>
        {options.map(([one, words]) => (
          <option key={one} value={one}>
            {words}
          </option>
        ))}
      </select>
    </div>
  );
}
