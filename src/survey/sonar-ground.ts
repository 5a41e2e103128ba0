import type { Frame } from '../geo/frame.js';
import { rasterBilinearAt } from '../geo/raster.js';
import type { PingSource } from './imagery-jobs.js';
import type { StepWork } from './step-graph.js';
import type { SurveyPings } from './step-pings.js';
import { surfaceOf } from './step-surface.js';
import { trackOf } from './step-tracks.js';
import { needFrame } from './survey-frame.js';
import { soundOf, waterLevelOf } from './water-files.js';

/** Sound speed where nothing is known of the water [m/s]. Common practice. */
const USUAL_SOUND_MPS = 1500;

/** The sound speed slant ranges are made with, and where it comes from. */
export async function sonarSound(work: StepWork, pings: SurveyPings): Promise<{ readonly speedMps: number; readonly from: string }> {
  const { settings } = work;
  const { soundSpeedMps, draftM } = settings.sonar;
  if (soundSpeedMps !== null) return { speedMps: soundSpeedMps, from: 'as set' };
  const frame = await needFrame(work.folder, settings, work.logs);
  const track = await trackOf(work);
  const middle = track.n >> 1;
  const [xM, yM] = track.n > 0 ? [track.xM[middle]!, track.yM[middle]!] : [500_000, 0];
  const sound = await soundOf(work.folder, settings, frame, frame.toGeographic(xM, yM)[0]);
  if (sound !== null) {
    // What 10 m measured with the usual speed truly are.
    const speedMps = (USUAL_SOUND_MPS * sound.field.belowAt(10, USUAL_SOUND_MPS, draftM, pings.timeS[pings.n >> 1]!, xM, yM)) / 10;
    if (Number.isFinite(speedMps)) return { speedMps, from: 'the water\'s' };
  }
  return { speedMps: settings.sounder.soundSpeedSetMps || USUAL_SOUND_MPS, from: 'the echo sounder\'s setting' };
}

/** The logs that hold pings, with their rows in the pings' table. */
export function pingSource(work: StepWork, pings: SurveyPings): PingSource {
  const logs: { entry: StepWork['logs'][number]; rowStart: number; rowEnd: number }[] = [];
  let start = 0;
  while (start < pings.n) {
    let end = start + 1;
    while (end < pings.n && pings.log[end] === pings.log[start]) end++;
    logs.push({ entry: work.logs[pings.log[start]!]!, rowStart: start, rowEnd: end });
    start = end;
  }
  return { folder: work.folder, settings: work.settings, logs };
}

/** How deep the water is by the depth surface and the water level: below the water surface, at a place and time. */
export interface WaterDepth {
  /** Depth below the datum by place [m]; NaN where the surface has none. */
  readonly depthAt: (xM: number, yM: number) => number;
  /** Water level above the datum by time [m]. */
  readonly levelsAt: (timeS: Float64Array) => Float64Array;
  /** 95 % of the surface by place [m]. */
  readonly uncertaintyAt: (xM: number, yM: number) => number;
}

/** Null where there is no surface. */
export async function waterDepthOf(work: StepWork, frame: Frame): Promise<WaterDepth | null> {
  const surface = await surfaceOf(work);
  if (surface === null) return null;
  const level = await waterLevelOf(work.folder, work.settings, frame);
  return {
    depthAt: rasterBilinearAt({ grid: surface.grid, values: surface.depthM }),
    uncertaintyAt: rasterBilinearAt({ grid: surface.grid, values: surface.uncertaintyM }),
    levelsAt: (timeS) => level.levelsAt(timeS).map((each) => (Number.isNaN(each) ? 0 : each)),
  };
}
