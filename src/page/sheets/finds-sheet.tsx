import { Sheet, WorkState } from './parts.js';

/** Finds: what was located on the floor. */
export function FindsSheet() {
  return (
    <Sheet title="Finds" lead="Nothing located yet.">
      <WorkState />
    </Sheet>
  );
}
