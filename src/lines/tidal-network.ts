import type { KeepOut } from '../geo/keep-out.js';
import { boundsOfPolygons } from '../geo/ring.js';
import { segmentPolygonDistanceM } from '../geo/segment.js';
import type { Polyline } from '../geo/shapes.js';
import type { TideRule } from '../water/tidal-keepouts.js';
import { isTidal } from '../water/tidal-keepouts.js';
import type { TideWindow } from '../water/tide-window.js';
import { waterWindows } from '../water/tide-window.js';
import type { TransitNetwork } from './transit-network.js';
import { createTransitNetwork } from './transit-network.js';

/** Ways around keep-outs, some of which open and close with the tide. */
export interface TidalNetwork {
  /** Every keep-out closed. */
  readonly closed: TransitNetwork;
  /** Those that stay open all through a span left out; `closed` itself where none does. */
  during(fromS: number, toS: number): TransitNetwork;
  /** The first keep-out by tide that a path enters and that is not open all through a span; null where there is none. */
  shutOn(path: Polyline, fromS: number, toS: number): KeepOut | null;
  /** UTC second from which a keep-out stays open at least so long, at or after one; NaN where that is not known to come. */
  opensForS(keepout: KeepOut, lengthS: number, afterS: number): number;
}

/** Openings are known so far from the start on; later every keep-out counts as closed [s]. */
const KNOWN_S = 6 * 86_400;

/** @param startS about when the boat leaves, UTC [s] */
export function createTidalNetwork(keepouts: readonly KeepOut[], clearanceM: number, tide: TideRule | null, startS: number): TidalNetwork {
  const closed = createTransitNetwork(keepouts, clearanceM);
  const level = tide?.level ?? null;
  const tidal = keepouts.filter((keepout) => isTidal(keepout) && level !== null && !Number.isNaN(keepout.leastDepthM));
  if (tide === null || level === null || tidal.length === 0) return { closed, during: () => closed, shutOn: (path) => entered(keepouts.filter(isTidal), path)[0] ?? null, opensForS: () => NaN };
  const windows = new Map<KeepOut, readonly TideWindow[]>();
  for (const keepout of tidal) windows.set(keepout, waterWindows(level, { bottomDepthM: keepout.leastDepthM!, draftM: tide.needM, clearanceM: 0 }, startS - 3600, startS + KNOWN_S));
  const isOpen = (keepout: KeepOut, fromS: number, toS: number): boolean => (windows.get(keepout) ?? []).some((window) => window.startS <= fromS && window.endS >= toS);
  const networks = new Map<string, TransitNetwork>();
  return {
    closed,
    during(fromS, toS) {
      const open = tidal.map((keepout) => isOpen(keepout, fromS, toS));
      if (!open.includes(true)) return closed;
      const key = open.map(Number).join('');
      let network = networks.get(key);
      if (network === undefined) networks.set(key, (network = createTransitNetwork(keepouts.filter((keepout) => !open[tidal.indexOf(keepout)]), clearanceM)));
      return network;
    },
    shutOn: (path, fromS, toS) => entered(keepouts.filter(isTidal), path).find((keepout) => !isOpen(keepout, fromS, toS)) ?? null,
    opensForS(keepout, lengthS, afterS) {
      for (const { startS: from, endS: to } of windows.get(keepout) ?? []) {
        const first = Math.max(from, afterS);
        if (to - first >= lengthS) return first;
      }
      return NaN;
    },
  };
}

function entered(keepouts: readonly KeepOut[], path: Polyline): KeepOut[] {
  return keepouts.filter((keepout) => {
    const box = boundsOfPolygons([keepout]);
    for (let i = 0; i + 3 < path.length; i += 2) {
      const [ax, ay, bx, by] = [path[i]!, path[i + 1]!, path[i + 2]!, path[i + 3]!];
      if (Math.max(ax, bx) < box.westM || Math.min(ax, bx) > box.eastM || Math.max(ay, by) < box.southM || Math.min(ay, by) > box.northM) continue;
      if (segmentPolygonDistanceM(keepout, ax, ay, bx, by) === 0) return true;
    }
    return false;
  });
}
