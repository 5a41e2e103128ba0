/** One of a few, as a list to choose from. */
export function InlineChoice({ label, value, choices, onValue }: { readonly label: string; readonly value: string; readonly choices: Readonly<Record<string, string>>; readonly onValue: (value: string) => void }) {
  return (
    <label className="choice">
      <span>{label}</span>
      <select value={value} onChange={(event) => onValue(event.target.value)}>
        {Object.entries(choices).map(([key, words]) => (
          <option key={key} value={key}>
            {words}
          </option>
        ))}
      </select>
    </label>
  );
}
