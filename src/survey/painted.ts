import type { BoatModel } from '../boat/boat-model.js';
import { polygonToLonLat } from '../geo/area-polygons.js';
import type { GeoFeature } from '../geo/features.js';
import { paintedArea, type PaintedArea } from '../rehearse/painted-area.js';
import { sensorReach, sensorWords, type Reach } from '../rehearse/sensor-reach.js';
import { REHEARSAL_DEFAULTS } from '../rehearse/rehearsal.js';
import { sensorOf } from './derive-purpose.js';
import { readPlanPolygons } from './plan-files.js';
import type { Settings } from './settings.js';
import type { SortieGround } from './sortie-ground.js';
import { reachOf } from './step-gaps.js';
import type { RehearsedSortie } from './step-rehearsal.js';

/** More holes than this are counted, not told; their outlines are all in derived/rehearsed-holes.geojson. */
const MOST_HOLES = 100;

/** How the area will be covered by all sorties, as it stands in derived/rehearsal.json. */
export interface Painted extends Omit<PaintedArea, 'holes'> {
  /** The sensor in words. */
  readonly sensor: string;
  readonly holeCount: number;
  /** Largest first, at most 100: a place in each, and the chance that it is covered there. */
  readonly holes: readonly { readonly areaM2: number; readonly latDeg: number; readonly lonDeg: number; readonly xM: number; readonly yM: number; readonly chance: number }[];
}

/**
 * How the sorties cover the area with the sensor of the settings, before they are run, and the outlines of the holes they leave.
 * @returns told: null where there is no area; words where it cannot be told
 */
export async function paintedBy(folder: string, settings: Settings, done: readonly RehearsedSortie[], ground: SortieGround, boat: BoatModel): Promise<{ readonly told: Painted | string | null; readonly outlines: readonly GeoFeature[] }> {
  const area = await readPlanPolygons(folder, settings, 'area');
  if (area === null || area.length === 0) return { told: null, outlines: [] };
  const sensor = sensorOf(settings);
  const { purpose, depthM } = settings.lines;
  const beamReachM = reachOf({ settings });
  const rangeM = purpose.kind === 'imagery' ? purpose.rangeM : null;
  const { bottomDepthM, level } = ground;
  const needsDepth = sensor.kind === 'swath' || (sensor.kind === 'side-scan' && sensor.heightM === null);
  if (needsDepth && bottomDepthM === null && depthM === null) return { told: 'how deep it is was not said: give rehearse.bottom or lines.depthM, and what is painted is told', outlines: [] };
  const one = new Float64Array(1);
  const reachAt = (xM: number, yM: number, timeS: number): Reach => {
    let depth = NaN;
    if (needsDepth) {
      one[0] = timeS;
      const levelM = level?.levelsAt(one)[0] ?? 0;
      depth = (bottomDepthM?.(xM, yM) ?? NaN) + (Number.isNaN(levelM) ? 0 : levelM);
      if (Number.isNaN(depth)) depth = depthM ?? NaN;
    }
    return sensorReach(sensor, depth, rangeM, beamReachM);
  };
  const painted = paintedArea({
    runs: done.map(({ sortie, rehearsal: { columns } }) => ({ sortie, columns })),
    area,
    // What the tide alone closes can be surveyed while it is open.
    without: [...ground.keepouts.filter(({ leastDepthM }) => leastDepthM === undefined || Number.isNaN(leastDepthM)), ...ground.land],
    reachAt,
    trackRmsM: boat.trackRmsM,
    convergenceDeg: ground.convergenceDeg,
    chance: REHEARSAL_DEFAULTS.paintedChance,
    minAreaM2: settings.gaps.minAreaM2,
  });
  if (painted === null) return { told: null, outlines: [] };
  const { holes, ...figures } = painted;
  const told: Painted = {
    ...figures,
    sensor: sensorWords(sensor, beamReachM),
    holeCount: holes.length,
    holes: holes.slice(0, MOST_HOLES).map(({ areaM2, xM, yM, chance }) => {
      const [latDeg, lonDeg] = ground.frame.toGeographic(xM, yM);
      return { areaM2, latDeg, lonDeg, xM, yM, chance };
    }),
  };
  const outlines = holes.map(({ areaM2, chance, outline }, i): GeoFeature => ({
    shape: { kind: 'polygon', polygon: polygonToLonLat(outline, ground.frame) },
    properties: { number: i + 1, areaM2: Math.round(areaM2 * 10) / 10, leastChance: Math.round(chance * 1000) / 1000 },
  }));
  return { told, outlines };
}
