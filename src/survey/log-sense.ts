import type { LogSummary } from '../base/observations.js';
import { boundsOfRings } from '../geo/ring.js';
import type { LonLatPolygon } from '../geo/lon-lat.js';

/** A log with nine in ten records lost to one cause is not a damaged log but a wrong one. */
const LOST_SHARE = 0.9;
/** A boat of this class does not work further from its area than this [deg], some 50 km. */
const NEAR_DEG = 0.5;

function countOf(summary: LogSummary, code: string): number {
  return summary.rejects.find((reject) => reject.code === code)?.count ?? 0;
}

/**
 * Why a log that could be read makes no sense as a whole, in one line; null where it does.
 *
 * @param area the survey's area, where it has one: a log far from it, whose latitudes and longitudes lie on it when swapped, is refused
 */
export function senselessLog(name: string, summary: LogSummary, area: readonly LonLatPolygon[] | null): string | null {
  const zero = countOf(summary, 'zero-position');
  if (zero > 0 && zero >= LOST_SHARE * (zero + summary.fixes)) {
    return `${name}: ${zero} of ${zero + summary.fixes} positions are exactly 0 N 0 E: the receiver had no fix, or the columns are empty; check the receiver, or take in the positions from another file`;
  }
  const backwards = countOf(summary, 'time-backwards');
  const kept = Math.max(summary.fixes, summary.pings);
  if (backwards > 0 && backwards >= LOST_SHARE * (backwards + kept)) {
    return `${name}: time goes backwards in ${backwards} of ${backwards + kept} records: expected times that rise; sort the file by time, or check how its time column is read`;
  }
  if (area === null || area.length === 0 || summary.bbox === null) return null;
  const box = boundsOfRings(area.map((polygon) => polygon.outer));
  const near = (south: number, west: number, north: number, east: number): boolean =>
    west <= box.eastM + NEAR_DEG && east >= box.westM - NEAR_DEG && south <= box.northM + NEAR_DEG && north >= box.southM - NEAR_DEG;
  const { south, west, north, east } = summary.bbox;
  if (!near(south, west, north, east) && near(west, south, east, north)) {
    return `${name}: latitude and longitude are swapped: the positions lie at ${south.toFixed(3)} N ${west.toFixed(3)} E, far from the area, and on it the other way round; correct the columns (tallow take-in --column), or the area`;
  }
  return null;
}

/** Whether a log's positions lie far from the area: worth a note, not a refusal. */
export function farFromArea(summary: LogSummary, area: readonly LonLatPolygon[] | null): boolean {
  if (area === null || area.length === 0 || summary.bbox === null) return false;
  const box = boundsOfRings(area.map((polygon) => polygon.outer));
  const { south, west, north, east } = summary.bbox;
  return west > box.eastM + NEAR_DEG || east < box.westM - NEAR_DEG || south > box.northM + NEAR_DEG || north < box.southM - NEAR_DEG;
}
