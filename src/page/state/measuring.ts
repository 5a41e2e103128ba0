import type { Echo } from '../waterfall/echo-place.js';
import type { WaterfallMark } from '../waterfall/waterfall-view.js';
import { createStore } from './store.js';

/** An object measured by hand, in rows of the pings and slant ranges [m]; the shadow's end is NaN until it is drawn. */
export interface MeasuredShape {
  readonly side: Echo['side'];
  readonly rowStart: number;
  readonly rowEnd: number;
  readonly slantStart: number;
  readonly slantEnd: number;
  readonly shadowEndSlant: number;
}

/** What is being measured in the waterfall. */
export const measuring = createStore<{ readonly shape: MeasuredShape | null }>({ shape: null });

/** A stroke with the measuring tool: along the object first, then to the end of its shadow. */
export function measureStroke(points: readonly Echo[], ended: boolean): void {
  void points;
  void ended;
}

/** What stands over the waterfall. */
export function shownMarks(): readonly WaterfallMark[] {
  const { shape } = measuring.get();
  return shape === null ? [] : [{ key: 'measured', ...shape, label: '', strong: true }];
}

export function watchMarks(listener: () => void): () => void {
  return measuring.watch(listener);
}
