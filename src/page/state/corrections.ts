import type { CorrectionCurve, LoadedCorrections } from '../work/depths-messages.js';
import { buildSoon, refresh, server, soundingsWorker, trouble } from './actions.js';
import { isAbort } from '../work/call.js';
import { createStore } from './store.js';
import { session, survey } from './stores.js';

const FILE = 'derived/corrections.parquet';

/** Corrections of the soundings as reduced; null: none are there. */
export const corrections = createStore<{ readonly loaded: LoadedCorrections | null; readonly loading: boolean }>({ loaded: null, loading: false });

let heldFor: unknown = undefined;
let stop: AbortController | null = null;

/** Reads the corrections where they are not those of the soundings on the screen. */
export async function loadCorrections(): Promise<void> {
  const { soundings } = survey.get();
  if (heldFor === (soundings?.timeS ?? null)) return;
  heldFor = soundings?.timeS ?? null;
  stop?.abort();
  const now = new AbortController();
  stop = now;
  corrections.update((state) => ({ ...state, loading: true }));
  try {
    const loaded = soundings === null ? null : await soundingsWorker.call('loadCorrections', { url: `/files/${FILE}` }, { signal: now.signal });
    corrections.set({ loaded, loading: false });
  } catch (error) {
    if (isAbort(error)) return;
    corrections.set({ loaded: null, loading: false });
    trouble(error);
  }
}

/** Applies a correction or leaves it out: the setting is changed, and the soundings are reduced anew. */
export async function applyCorrection(curve: CorrectionCurve, on: boolean): Promise<void> {
  if (curve.setting === null) return;
  try {
    await server.set(curve.setting, on);
    await refresh();
    session.update((now) => ({ ...now, said: `${curve.label}: ${on ? 'applied' : 'left out'}; the soundings are reduced anew`, trouble: null }));
    buildSoon();
  } catch (error) {
    trouble(error);
  }
}

/** Whether a correction is to be applied by the settings as they stand; they may be ahead of the soundings. */
export function isWanted(settings: unknown, curve: CorrectionCurve): boolean {
  if (curve.setting === null) return curve.on;
  let at: unknown = settings;
  for (const key of curve.setting.split('.')) at = typeof at === 'object' && at !== null ? (at as Record<string, unknown>)[key] : undefined;
  return typeof at === 'boolean' ? at : curve.on;
}

/** Whether a curve says anything: it is not nought everywhere. */
export function isTold(curve: CorrectionCurve): boolean {
  return Math.abs(curve.leastM) >= 0.0005 || Math.abs(curve.mostM) >= 0.0005;
}
