import type { ReadOff } from '../../finds/measure.js';
import type { LoadedPings } from '../work/imagery-messages.js';
import type { DrawnShape } from './drawn-shape.js';
import { heightAt } from './echo-place.js';

/** A hand and an eye find an edge on the screen to so many pixels, one sigma. Common practice. */
const HAND_PX = 1.5;
/** A height that says nothing of its own worth [m]. */
const HEIGHT_SIGMA_M = 0.15;

/**
 * What a shape drawn by hand reads off the picture, with how well.
 *
 * @param row ping of its middle
 * @param alongM ground from a ping to the next [m]
 * @param metresPerPx how fine the waterfall was drawn
 */
export function readOffShape(pings: LoadedPings, shape: Omit<DrawnShape, 'side'>, row: number, alongM: number, beamDeg: number, metresPerPx: number): ReadOff {
  const sampleM = 750 * (pings.intervalS[row] as number);
  // A sample is as wide as its spread, evenly: one sigma is its width over the root of twelve.
  const edgeSigmaM = Math.hypot(HAND_PX * metresPerPx, sampleM / Math.sqrt(12));
  const spacingM = alongM > 0 ? alongM : 0.1;
  const sigmaM = pings.heightSigmaM[row] as number;
  return {
    slantStartM: shape.slantStart,
    slantEndM: shape.slantEnd,
    shadowEndM: shape.shadowEndSlant,
    startSigmaM: edgeSigmaM,
    endSigmaM: edgeSigmaM,
    shadowSigmaM: edgeSigmaM,
    // A stroke touches one ping more than it is long, whatever its length.
    alongM: Math.max(1, shape.rowEnd - shape.rowStart - 1) * spacingM,
    alongSigmaM: Math.max(spacingM / Math.sqrt(6), Math.SQRT2 * HAND_PX * metresPerPx),
    beamM: (shape.slantEnd * beamDeg * Math.PI) / 180,
    sonarHeightM: heightAt(pings, row),
    sonarHeightSigmaM: sigmaM > 0 ? sigmaM : HEIGHT_SIGMA_M,
  };
}
