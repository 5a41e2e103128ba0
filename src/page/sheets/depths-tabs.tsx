import { depths, DEPTHS_PARTS, type DepthsPart, type DepthsStrip } from '../state/depths.js';
import { screen } from '../state/stores.js';
import { useStore } from '../state/store.js';

const NAMES: Readonly<Record<DepthsPart, string>> = { overview: 'Overview', instruments: 'Instruments', clean: 'Clean', correct: 'Correct', check: 'Check', surface: 'Surface' };
/** What the strip shows when a part is gone to; where nothing is named it stays as it is. */
const STRIPS: Readonly<Partial<Record<DepthsPart, DepthsStrip>>> = { clean: 'profile', correct: 'corrections' };

/** The parts of the Depths sheet. @param parts those there is something in */
export function DepthsTabs({ parts = DEPTHS_PARTS }: { readonly parts?: readonly DepthsPart[] }) {
  const part = useStore(depths, (now) => now.part);
  const go = (to: DepthsPart) => {
    // The check is read on the chart: its marks come with it.
    if (to === 'check') screen.update((now) => ({ ...now, showCrossings: true }));
    depths.update((now) => ({ ...now, part: to, strip: STRIPS[to] ?? (to === 'overview' ? 'time' : now.strip) }));
  };
  return (
    <div className="depths-tabs" role="tablist" aria-label="Parts of the depths">
      {parts.map((one, k) => (
        <button
          key={one}
          type="button"
          role="tab"
          id={`depths-tab-${one}`}
          aria-selected={part === one}
          aria-controls="depths-part"
          tabIndex={part === one ? 0 : -1}
          onClick={() => go(one)}
          onKeyDown={(event) => {
            const by = event.key === 'ArrowRight' ? 1 : event.key === 'ArrowLeft' ? -1 : 0;
            const to = by === 0 ? undefined : parts[(k + by + parts.length) % parts.length];
            if (to === undefined) return;
            event.preventDefault();
            go(to);
            document.getElementById(`depths-tab-${to}`)?.focus();
          }}
        >
          {NAMES[one]}
        </button>
      ))}
    </div>
  );
}
