import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { quantile } from '../../src/base/statistics.js';
import { reduceSoundings, type LeverArm } from '../../src/depths/reduce.js';
import { soundingUncertainty, type UncertaintyOptions } from '../../src/depths/uncertainty.js';
import { constantLevel } from '../../src/water/level.js';
import { uniformSoundProfile } from '../../src/water/sound-profile.js';
import { madePings, madeSeries, madeTrack, PLAIN } from './made-logs.js';

const DRAWS = 100_000;
const RAD = Math.PI / 180;

/** A boat's point turned by roll, then by pitch, each as a plain turn in a plane: forward, starboard, down. */
function turned({ forwardM, starboardM, downM }: LeverArm, roll: number, pitch: number): [number, number, number] {
  const s = starboardM * Math.cos(roll) - downM * Math.sin(roll);
  const d = starboardM * Math.sin(roll) + downM * Math.cos(roll);
  return [forwardM * Math.cos(pitch) + d * Math.sin(pitch), s, d * Math.cos(pitch) - forwardM * Math.sin(pitch)];
}

const antenna = { forwardM: -0.4, starboardM: 0.2, downM: -2 };
const transducer = { forwardM: 1.2, starboardM: 0.5, downM: 0.4 };
const sensor = { forwardM: -0.2, starboardM: -0.1, downM: 0.1 };
const terms = {
  sounderM: 0.02, sounderShare: 0.003, draftM: 0.03, squatM: 0.01, heaveM: 0.2, waterLevelM: 0.03, zoningM: 0.02, soundSpeedMps: 3, timeS: 0,
  heaveMeasuredM: 0.03, attitudeMeasuredDeg: 1, attitudeDeg: 4, gnssHeightM: 0.025, separationM: 0.04,
};
const FLOOR_M = 14;

describe('Monte Carlo of roll, pitch, heave and GNSS height: 100 000 draws through the reduction itself', () => {
  it.each([
    ['upright, heave', 0, 0, false],
    ['rolled and pitched, heave', 9, -6, false],
    ['upright, GNSS height', 0, 0, true],
    ['rolled and pitched, GNSS height', -7, 5, true],
  ])('%s: TVU and THU are the 95 %% of what happens, within 2 %%', (_, rollDeg, pitchDeg, heights) => {
    const random = createRandom(4711);
    const half = 3 * RAD;
    const timeS = Float64Array.from({ length: DRAWS }, (_unused, i) => i * 0.1);
    const [measured, rolls, pitches, heaves, antennaM] = [0, 0, 0, 0, 0].map(() => new Float64Array(DRAWS));
    const placeX = new Float64Array(DRAWS);
    const placeY = new Float64Array(DRAWS);
    const [roll, pitch] = [rollDeg * RAD, pitchDeg * RAD];
    const down = turned(transducer, roll, pitch);
    const up = turned(antenna, roll, pitch);
    const at = turned(sensor, roll, pitch);
    // The beam's way down turned with the boat; a level floor is met by the ray nearest to straight down.
    const [leanForward, leanStarboard, leanDown] = turned({ forwardM: 0, starboardM: 0, downM: 1 }, roll, pitch);
    const lean = Math.atan2(Math.hypot(leanForward, leanStarboard), leanDown);
    const past = Math.max(0, lean - half);
    for (let k = 0; k < DRAWS; k++) {
      const draftM = 0.4 + terms.draftM * random.normal();
      const squatM = terms.squatM * random.normal();
      const levelM = 1 + terms.waterLevelM * random.normal() + terms.zoningM * random.normal();
      const heaveM = 0.3 * random.normal();
      // Reference point above datum as it truly is: at rest its own down less the draft is its height above the water.
      const referenceM = heights ? 0.7 + 0.3 * random.normal() : levelM + (transducer.downM - draftM - squatM) + heaveM + (at[2] - sensor.downM);
      const belowM = FLOOR_M + referenceM - down[2];
      const rangeM = belowM / Math.cos(past);
      const speedMps = 1490 + terms.soundSpeedMps * random.normal();
      measured![k] = (rangeM * 1500) / speedMps + terms.sounderM * random.normal() + terms.sounderShare * rangeM * random.normal();
      rolls![k] = rollDeg + terms.attitudeMeasuredDeg * random.normal();
      pitches![k] = pitchDeg + terms.attitudeMeasuredDeg * random.normal();
      heaves![k] = heaveM + terms.heaveMeasuredM * random.normal();
      antennaM![k] = referenceM - up[2] + 50 + terms.gnssHeightM * random.normal() + terms.separationM * random.normal();
      const footM = belowM * Math.tan(past);
      const off = Math.hypot(leanForward, leanStarboard) || 1;
      // The boat points east: forward is x, starboard is -y. What the fix says is 0, 0.
      placeX[k] = 0.1 * random.normal() + down[0] - up[0] + (footM * leanForward) / off;
      placeY[k] = 0.1 * random.normal() - (down[1] - up[1]) - (footM * leanStarboard) / off;
    }
    const endS = DRAWS * 0.1 + 1;
    const reduction = reduceSoundings(
      [{ log: 0, pings: madePings(timeS, measured!), rollDeg: madeSeries(timeS, rolls!), pitchDeg: madeSeries(timeS, pitches!), heaveM: madeSeries(timeS, heaves!), headingTrueDeg: madeSeries([-1, endS], [90, 90]) }],
      madeTrack([-1, endS], [0, 0], [0, 0], { sigmaM: new Float32Array(2).fill(0.1) }),
      uniformSoundProfile(1490),
      constantLevel(1),
      {
        ...PLAIN, maxGapS: 1e9, antenna, transducer, draftM: 0.4, beamWidthDeg: 6, heading: { source: 'true', variationDeg: null },
        motion: { sensor, latencyS: 0, rollSign: 1, pitchSign: 1, heaveSign: 1, rollOffsetDeg: 0, pitchOffsetDeg: 0 },
        heights: heights ? { antennaAt: () => antennaM!, datumAt: () => 50 } : null,
      },
    );
    const options: UncertaintyOptions = { terms, headingSigmaDeg: 0, antenna, transducer, beamWidthDeg: 6, soundSpeedMps: 1490, slopeCorrected: true, motionSensor: sensor };
    const { tvuM, thuM } = soundingUncertainty(reduction, new Float32Array(DRAWS), options);
    const { depthM, xM, yM } = reduction.soundings;
    const wrong = Float64Array.from(depthM, (depth) => Math.abs(depth - FLOOR_M));
    const away = Float64Array.from(xM, (x, k) => Math.hypot(x - placeX[k]!, yM[k]! - placeY[k]!));
    const middle = (values: Float32Array): number => quantile(Float64Array.from(values), 0.5);
    expect(Math.abs(middle(tvuM) / quantile(wrong, 0.95) - 1)).toBeLessThan(0.02);
    expect(Math.abs(middle(thuM) / quantile(away, 0.95) - 1)).toBeLessThan(0.02);
  });
});
