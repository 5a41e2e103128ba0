import { createStore } from './store.js';

/** Rows of the pings that the waterfall shows now, and how fine; null while it is not there. */
export const waterfallSeen = createStore<{ readonly rowStart: number; readonly rowEnd: number; readonly metresPerPx: number } | null>(null);
