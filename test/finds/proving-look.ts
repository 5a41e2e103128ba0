import { angleLevels, learnGain, pingLevelsDb, stripesDb } from '../../src/imagery/learn-gain.js';
import { withPings } from '../../src/imagery/learned-gain.js';
import { stretchCorrector } from '../../src/imagery/correct-stretch.js';
import type { SonarTrack } from '../../src/imagery/sonar-track.js';
import { createRandom } from '../../src/base/random.js';
import type { DetectOptions } from '../../src/finds/detect.js';
import { lookOver, STRETCH_MARGIN } from '../../src/finds/look-over.js';
import type { Sighting } from '../../src/finds/sighting.js';
import { samplingOf } from '../../src/finds/slant-profile.js';
import type { SideScanGround } from '../../src/proving/index.js';

/** How well the tests pretend to know the sonar's place and heading, one sigma: that is stated, the track itself is the truth; heights err by as much, each ping by itself. */
export interface Known {
  readonly positionM: number;
  readonly headingDeg: number;
  readonly heightM: number;
  readonly seed: number;
}

const STRETCH = 512;

/**
 * Sightings of a proving-ground survey, line by line: its gain learned from its own pings, its track the truth, its heights the truth
 * with errors of each ping.
 */
export async function lookAtGround(ground: SideScanGround, options: DetectOptions, known: Known, lines?: readonly number[]): Promise<{ sightings: Sighting[]; areaHa: number }> {
  const { reader } = ground.logs[0]!;
  const truth = ground.truth.pings[0]!;
  const { heads } = reader;
  const n = heads.n;
  const random = createRandom(known.seed);
  const soundSpeedMps = ground.options.soundSpeedMps;
  const lineNumbers = lines ?? [...new Set(truth.line)].filter((line) => line >= 0);
  const heightM = Float32Array.from(truth.heightM, (height) => height + known.heightM * random.normal());
  const track: SonarTrack = {
    n,
    timeS: truth.timeS,
    xM: truth.xM,
    yM: truth.yM,
    headingDeg: Float32Array.from(truth.headingDeg),
    courseDeg: Float32Array.from(truth.headingDeg),
    speedMps: new Float32Array(n).fill(ground.options.speedMps),
    sigmaM: new Float32Array(n).fill(known.positionM),
    headingSigmaDeg: new Float32Array(n).fill(known.headingDeg),
    line: truth.line,
    fault: new Uint8Array(n),
    gridHeadingDeg: Float32Array.from(truth.gridHeadingDeg),
    portSlope: new Float32Array(n),
    starboardSlope: new Float32Array(n),
  };
  const floor = { heightM, portSlope: track.portSlope, starboardSlope: track.starboardSlope };
  const gainOptions = { soundSpeedMps, spreadingDb: 30, absorptionDbPerKm: ground.sonar.absorptionDbPerM * 1000 };
  const sightings: Sighting[] = [];
  let areaHa = 0;
  const rowsOf = lineNumbers.map((line) => {
    const start = truth.line.indexOf(line);
    let end = start;
    while (end < n && truth.line[end] === line) end++;
    return { line, start, end };
  });
  const learned = learnGain(
    await Promise.all(rowsOf.map(async ({ start, end }) => {
      const to = Math.min(end, start + 400);
      return angleLevels(await reader.read(start, to), heads, floor, start, 0, to - start, gainOptions);
    })),
    gainOptions,
  );
  const gain = withPings(learned, n);
  const binning = { soundSpeedMps, binM: 0.1, maxGroundM: ground.sonar.rangeM };
  const correct = stretchCorrector(heads, { heightM }, track, gain, binning);
  for (const { line, start, end } of rowsOf) {
    for (let core = start; core < end; core += STRETCH) {
      const coreEnd = Math.min(end, core + STRETCH);
      const from = Math.max(start, core - STRETCH_MARGIN);
      const to = Math.min(end, coreEnd + STRETCH_MARGIN);
      const samples = await reader.read(from, to);
      const levels = angleLevels(samples, heads, floor, from, 0, to - from, gainOptions);
      gain.portPingDb.set(stripesDb(pingLevelsDb(levels, gain, 'port')), from);
      gain.starboardPingDb.set(stripesDb(pingLevelsDb(levels, gain, 'starboard')), from);
      const corrected = correct(samples, from);
      sightings.push(
        ...lookOver(
          { corrected, sampling: (side, row) => samplingOf(heads, { heightM }, track, binning, corrected.width, from, side, row), rowStart: from, coreStart: core, coreEnd, log: '0123456789abcdef', record: heads.record, heightM, heightSigmaM: new Float32Array(n).fill(known.heightM), track, use: (row) => truth.silent[row] === 0, pass: { port: 2 * line, starboard: 2 * line + 1 } },
          options,
        ),
      );
    }
    areaHa += (2 * ground.sonar.rangeM * ground.options.speedMps * (truth.timeS[end - 1]! - truth.timeS[start]!)) / 1e4;
  }
  return { sightings, areaHa };
}
