/** A sign for a button, drawn with the pen. */
export function Icon({ d }: { readonly d: string }) {
  return (
    <svg viewBox="0 0 20 20" aria-hidden="true">
      <path d={d} />
    </svg>
  );
}
