import type { WorkContext } from '../base/progress.js';
import type { LeftOut } from '../depths/left-out.js';
import type { FillMethod } from '../depths/surface.js';
import { stepWork } from './open-desk.js';
import { compareSurfaces } from './step-surface.js';

/** What the ways of filling came to on the same lines left out. */
export interface SurfaceComparison {
  readonly methods: readonly { readonly fill: FillMethod; readonly leftOut: LeftOut }[];
  /** The one with the least RMS error; null where no line can be left out. */
  readonly best: FillMethod | null;
}

/** Holds every way of filling against the same lines of a survey whose soundings are made, other settings as they are. */
export async function compareSurfacesOf(folder: string, context: WorkContext): Promise<SurfaceComparison> {
  const methods = (await compareSurfaces(await stepWork(folder, context))) ?? [];
  const best = methods.reduce<SurfaceComparison['methods'][number] | null>((least, one) => (least === null || one.leftOut.rmsM < least.leftOut.rmsM ? one : least), null);
  return { methods, best: best?.fill ?? null };
}
