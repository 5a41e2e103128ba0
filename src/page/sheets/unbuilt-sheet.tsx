import { STAGE_TITLE, type Stage } from '../words/stages.js';
import { Sheet, WorkState } from './parts.js';

const MEANWHILE: Readonly<Record<'watch', { readonly what: string; readonly meanwhile: string }>> = {
  watch: {
    what: 'Will show the boat while it runs: position, cross-track error, battery, link.',
    meanwhile: 'Meanwhile use the software your autopilot came with; the lines can be saved as GPX at Lines.',
  },
};

/** A stage that is not built yet says so, and what to use until it is. */
export function UnbuiltSheet({ stage }: { readonly stage: Stage }) {
  const text = MEANWHILE[stage as keyof typeof MEANWHILE];
  return (
    <Sheet title={STAGE_TITLE[stage]} lead="Not built yet.">
      <WorkState />
      <p>{text.what}</p>
      <p className="note">{text.meanwhile}</p>
    </Sheet>
  );
}
