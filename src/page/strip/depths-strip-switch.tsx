import { depths, type DepthsStrip } from '../state/depths.js';
import { screen } from '../state/stores.js';
import { useStore } from '../state/store.js';

const NAMES: Readonly<Record<DepthsStrip, string>> = { time: 'Time', profile: 'Profile', corrections: 'Corrections' };

/** What the strip of the Depths stage shows. */
export function DepthsStripSwitch() {
  const stage = useStore(screen, (now) => now.stage);
  const strip = useStore(depths, (now) => now.strip);
  if (stage !== 'depths') return null;
  return (
    <span className="strip-switch" role="group" aria-label="What the strip shows">
      {(Object.keys(NAMES) as DepthsStrip[]).map((one) => (
        <button key={one} type="button" aria-pressed={strip === one} onClick={() => depths.update((now) => ({ ...now, strip: one }))}>
          {NAMES[one]}
        </button>
      ))}
    </span>
  );
}
