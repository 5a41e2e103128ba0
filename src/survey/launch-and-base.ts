import type { Frame } from '../geo/frame.js';
import type { Place } from '../rehearse/rehearsal.js';
import type { Settings } from './settings.js';

/** Launch point and base in the survey frame; the base stands at the launch point unless set. Null where neither is. */
export function launchAndBase(frame: Frame, { sortie: { launch, base } }: Pick<Settings, 'sortie'>): { readonly launch: Place | null; readonly base: Place | null } {
  const place = (at: { readonly latDeg: number; readonly lonDeg: number } | null): Place | null => {
    if (at === null) return null;
    const [xM, yM] = frame.toFrame(at.latDeg, at.lonDeg);
    return { xM, yM };
  };
  return { launch: place(launch), base: place(base ?? launch) };
}
