import type { ImageryFigures } from './compare-imagery.js';
import type { ErrorFigures } from './error-figures.js';
import type { SideScanGroundKind } from './side-scan-survey.js';
import type { ProvingPromise } from './verdict.js';

/** What the side-scan's chain must do on the proving ground. Parts without a figure are left out. */
export function imageryVerdict(figures: ImageryFigures, mosaic: ErrorFigures, ground: SideScanGroundKind): ProvingPromise[] {
  const { bottom, position, pings, found, height } = figures;
  // Over rock the first echo is not that of the place straight below: told, not promised.
  const smooth = bottom.byKind.filter(({ kind }) => kind !== 'rock').reduce((sum, { within }) => ({ count: sum.count + within.count, of: sum.of + within.of }), { count: 0, of: 0 });
  const share = smooth.count / smooth.of;
  const list: ProvingPromise[] = [
    { what: 'pings that came through', limit: 'all', found: pings.share, unit: 'share', met: pings.share === 1 },
    { what: 'bottom within 0.25 m, rock left out', limit: 'at least 99 %', found: share, unit: 'share', met: share >= 0.99 },
    { what: 'place of the sonar: root mean square error', limit: 'at most 1.0 m', found: position.rmsM, unit: 'm', met: position.rmsM <= 1 },
  ];
  // On rock and among ripples the floor is as bright as an object.
  const even = ground === 'plain' || ground === 'gravel' || ground === 'mud';
  if (even && mosaic.n > 0) list.push({ what: 'place of objects in the mosaic: root mean square error', limit: 'under 1.0 m', found: mosaic.rmsM, unit: 'm', met: mosaic.rmsM < 1 });
  if (found !== null && found.offM.n > 0) {
    list.push({ what: 'place of objects found: root mean square error', limit: 'under 1.0 m', found: found.offM.rmsM, unit: 'm', met: found.offM.rmsM < 1 });
  }
  // Heights are promised where a shadow falls on level ground.
  if (height !== null && height.ratio.n > 0 && even) {
    list.push({ what: 'heights by shadow: root mean square error, of the height', limit: 'at most 15 %, as far as so few can tell', found: height.ratio.rmsM, unit: 'share', met: leastRms95(height.ratio.rmsM, height.ratio.n) <= 0.15 });
  }
  return list;
}

/**
 * What a root mean square error of so many is at least, 95 % two-sided, where errors are normal. A survey has six or seven heights.
 * Source: chi-square of n degrees, its quantile by Wilson & Hilferty (1931), PNAS 17(12), 684-688.
 */
function leastRms95(rms: number, n: number): number {
  const high = n * (1 - 2 / (9 * n) + 1.96 * Math.sqrt(2 / (9 * n))) ** 3;
  return rms * Math.sqrt(n / high);
}
