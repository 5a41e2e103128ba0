import { BOTTOM_SOURCE, bottomStretches, bridgeBottom, emptyBottom, putBottom, type BottomTrack } from '../imagery/bottom-track.js';
import { drawBottom, type BottomDrawn } from '../imagery/bottom-by-hand.js';
import { positionsAt } from '../depths/position-at.js';
import { quantile } from '../base/statistics.js';
import { IMAGERY_PLACES, readBottom, writeBottom, writeText } from './imagery-files.js';
import { runImageryJobs } from './imagery-jobs.js';
import { PLACES } from './folder.js';
import { pingSource, sonarSound, waterDepthOf } from './sonar-ground.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { pingsOf, type SurveyPings } from './step-pings.js';
import { trackOf } from './step-tracks.js';
import type { BottomSummary, JournalEntry } from './summary.js';
import { surveyFrame } from './survey-frame.js';

/** The bottom track: from this run's memory, or from its file; without rows where there are no pings. */
export async function bottomOf(work: StepWork): Promise<BottomTrack> {
  const held = work.memory.get('bottom') as BottomTrack | undefined;
  if (held !== undefined) return held;
  const bottom = (await readBottom(work.folder)) ?? emptyBottom(0);
  work.memory.set('bottom', bottom);
  return bottom;
}

/** The standing bottoms drawn by hand, with logs by their place in the manifest. */
export function bottomDecisions(decisions: readonly JournalEntry[], logSha256s: readonly string[]): BottomDrawn[] {
  const byHash = new Map(logSha256s.map((sha256, index) => [sha256.slice(0, 16), index]));
  return decisions.flatMap((entry) => {
    if (entry.kind !== 'bottom') return [];
    const log = byHash.get(entry.log);
    return log === undefined ? [] : [{ log, points: entry.points }];
  });
}

/** Heights where none was heard, from the depth surface under the track and the water level. */
async function fillFromSurface(work: StepWork, pings: SurveyPings, bottom: BottomTrack): Promise<void> {
  if (!bottom.source.some((source) => source === BOTTOM_SOURCE.none)) return;
  const frame = await surveyFrame(work.folder, work.settings, work.logs);
  const water = frame === null ? null : await waterDepthOf(work, frame);
  if (water === null) return;
  const { draftM, clockOffsetS } = work.settings.sonar;
  const timeS = pings.timeS.map((time) => time + (clockOffsetS ?? 0));
  const { xM, yM } = positionsAt(await trackOf(work), timeS, work.settings.gnss.maxGapS);
  const levels = water.levelsAt(timeS);
  for (let row = 0; row < bottom.n; row++) {
    if (bottom.source[row] !== BOTTOM_SOURCE.none) continue;
    const sonarDepthM = Number.isNaN(pings.depthM[row]!) ? draftM : pings.depthM[row]!;
    const heightM = water.depthAt(xM[row]!, yM[row]!) + levels[row]! - sonarDepthM;
    if (!(heightM > 0)) continue;
    bottom.heightM[row] = heightM;
    bottom.heightSigmaM[row] = Math.hypot((water.uncertaintyAt(xM[row]!, yM[row]!) || 0.5) / 1.96, 0.15);
    bottom.confidence[row] = 0.4;
    bottom.source[row] = BOTTOM_SOURCE.depthSurface;
  }
}

function figuresOf(bottom: BottomTrack, speedMps: number, from: string): BottomSummary {
  const count = (source: number): number => bottom.source.reduce((sum, each) => sum + (each === source ? 1 : 0), 0);
  const known = Float64Array.from(bottom.heightM).filter((height) => !Number.isNaN(height));
  const at = (share: number): number | null => (known.length === 0 ? null : quantile(known, share));
  return {
    pings: bottom.n,
    tracked: count(BOTTOM_SOURCE.tracked),
    bridged: count(BOTTOM_SOURCE.bridged),
    byHand: count(BOTTOM_SOURCE.byHand),
    depthSurface: count(BOTTOM_SOURCE.depthSurface),
    none: count(BOTTOM_SOURCE.none),
    heightMinM: at(0),
    heightMedianM: at(0.5),
    heightMaxM: at(1),
    soundSpeedMps: speedMps,
    soundSpeedFrom: from,
  };
}

/** Height of the sonar above the floor, ping by ping. */
export const stepBottom: Step = {
  name: 'bottom',
  version: 1,
  after: ['pings', 'tracks', 'surface'],
  settings: ['sonar', 'imagery.bottom', 'water', 'sounder.soundSpeedSetMps', 'gnss.maxGapS', 'frame'],
  files: () => [PLACES.area],
  extra: (work) => JSON.stringify([work.logs.map((log) => log.sha256), bottomDecisions(work.decisions, work.logs.map((log) => log.sha256))]),
  async run(work): Promise<Made> {
    const pings = await pingsOf(work);
    if (pings.n === 0) {
      work.memory.set('bottom', emptyBottom(0));
      return {};
    }
    const { speedMps, from } = await sonarSound(work, pings);
    const { blankM, mostM, grassM, bridgeS } = work.settings.imagery.bottom;
    const bottom = emptyBottom(pings.n);
    const source = pingSource(work, pings);
    const stretches = source.logs.flatMap(({ rowStart, rowEnd }) => bottomStretches(rowEnd - rowStart).map((each) => ({ start: each.start + rowStart, end: each.end + rowStart, readStart: each.readStart + rowStart, readEnd: each.readEnd + rowStart })));
    const { timeS, portSamples, starboardSamples, intervalS, delayS } = pings;
    await runImageryJobs<BottomTrack>(
      { kind: 'bottom', source, pings: { timeS, portSamples, starboardSamples, intervalS, delayS }, options: { soundSpeedMps: speedMps, blankM, mostM: mostM ?? Infinity, grassM } },
      stretches,
      (stretch, index) => {
        const { start, end, readStart } = stretches[index]!;
        putBottom(bottom, stretch, start, end, readStart);
        work.context.progress?.('bottom', end / pings.n, `${end} of ${pings.n} pings`);
      },
      work.context,
    );
    drawBottom(bottom, pings.log, pings.record, bottomDecisions(work.decisions, work.logs.map((log) => log.sha256)));
    for (const { rowStart, rowEnd } of source.logs) {
      const part = (column: Float32Array): Float32Array => column.subarray(rowStart, rowEnd);
      bridgeBottom({ n: rowEnd - rowStart, heightM: part(bottom.heightM), heightSigmaM: part(bottom.heightSigmaM), confidence: part(bottom.confidence), source: bottom.source.subarray(rowStart, rowEnd) }, timeS.subarray(rowStart, rowEnd), bridgeS);
    }
    await fillFromSurface(work, pings, bottom);
    work.memory.set('bottom', bottom);
    return {
      [IMAGERY_PLACES.bottom]: await writeBottom(work.folder, bottom),
      [IMAGERY_PLACES.bottomFigures]: await writeText(work.folder, IMAGERY_PLACES.bottomFigures, figuresOf(bottom, speedMps, from)),
    };
  },
};
