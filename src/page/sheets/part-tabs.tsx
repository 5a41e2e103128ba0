interface PartTabsProps<Part extends string> {
  /** What they are the parts of, for a screen reader. */
  readonly label: string;
  /** Ids are `<of>-tab-<part>`; what they show has the id `<of>-part`. */
  readonly of: string;
  readonly parts: readonly Part[];
  readonly names: Readonly<Record<Part, string>>;
  readonly part: Part;
  readonly onPart: (part: Part) => void;
}

/** The parts of a sheet, as tabs; arrow keys go from one to the next. */
export function PartTabs<Part extends string>({ label, of, parts, names, part, onPart }: PartTabsProps<Part>) {
  return (
    <div className="depths-tabs" role="tablist" aria-label={label}>
      {parts.map((one, k) => (
        <button
          key={one}
          type="button"
          role="tab"
          id={`${of}-tab-${one}`}
          aria-selected={part === one}
          aria-controls={`${of}-part`}
          tabIndex={part === one ? 0 : -1}
          onClick={() => onPart(one)}
          onKeyDown={(event) => {
            const by = event.key === 'ArrowRight' ? 1 : event.key === 'ArrowLeft' ? -1 : 0;
            const to = by === 0 ? undefined : parts[(k + by + parts.length) % parts.length];
            if (to === undefined) return;
            event.preventDefault();
            onPart(to);
            document.getElementById(`${of}-tab-${to}`)?.focus();
          }}
        >
          {names[one]}
        </button>
      ))}
    </div>
  );
}
