import { headingsAt } from '../depths/heading-at.js';
import { headingCheck, type HeadingRun } from '../depths/heading-check.js';
import { headingRuns } from '../depths/heading-runs.js';
import { latencyCheck } from '../depths/latency-check.js';
import { straightRuns } from '../depths/line-of.js';
import { staticCheck, type StaticCheck } from '../depths/static-check.js';
import type { Track } from '../depths/track.js';
import { parseUtc } from '../base/time.js';
import type { SeriesColumns } from '../base/observations.js';
import { convergenceDeg } from '../geo/bearing.js';
import type { Frame } from '../geo/frame.js';
import { writeMade } from './atomic-file.js';
import { insideFolder, placeIn, readTextIfThere } from './folder.js';
import { judgeBar, judgeHeading, judgeLatency, judgeStatic, type InstrumentCheck } from './instrument-checks.js';
import { magneticVariationDeg } from './magnetic-variation.js';
import { observationsOf } from './step-observations.js';
import { soundingsOf } from './step-soundings.js';
import { trackOf } from './step-tracks.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { needFrame } from './survey-frame.js';
import { soundOf, waterFilesOf } from './water-files.js';

/** What the instrument checks came to. */
export const INSTRUMENTS_PLACE = 'derived/instruments.json';

/** Antenna against mark, for each stay. */
function stays(work: StepWork, track: Track, frame: Frame): { readonly check: StaticCheck; readonly eastM: Float64Array; readonly northM: Float64Array }[] {
  return work.settings.instruments.marks.map(({ latDeg, lonDeg, sigmaM, startUtc, endUtc }) => {
    const [startS, endS] = [parseUtc(startUtc), parseUtc(endUtc)];
    const rows: number[] = [];
    for (let i = 0; i < track.n; i++) if (track.timeS[i]! >= startS && track.timeS[i]! <= endS) rows.push(i);
    const [markXM, markYM] = frame.toFrame(latDeg, lonDeg);
    const taken = (column: Float64Array): Float64Array => Float64Array.from(rows, (row) => column[row]!);
    const fixes = { n: rows.length, timeS: taken(track.timeS), xM: taken(track.xM), yM: taken(track.yM) };
    return { check: staticCheck(fixes, { markXM, markYM, markSigmaM: sigmaM, order: work.settings.order }), eastM: fixes.xM.map((x) => x - markXM), northM: fixes.yM.map((y) => y - markYM) };
  });
}

async function compassRuns(work: StepWork, track: Track, frame: Frame): Promise<HeadingRun[]> {
  const { settings } = work;
  const kept: number[] = [];
  for (let i = 0; i < track.n; i++) if (track.jump[i] === 0) kept.push(i);
  const taken = (column: Float64Array): Float64Array => Float64Array.from(kept, (row) => column[row]!);
  const points = { n: kept.length, timeS: taken(track.timeS), xM: taken(track.xM), yM: taken(track.yM) };
  if (points.n === 0) return [];
  const middle = points.n >> 1;
  const convergence = convergenceDeg(frame, points.xM[middle]!, points.yM[middle]!);
  const [latDeg, lonDeg] = frame.toGeographic(points.xM[middle]!, points.yM[middle]!);
  const observations = await observationsOf(work);
  const present = (name: 'headingTrueDeg' | 'headingMagneticDeg'): SeriesColumns[] => observations.flatMap(({ series }) => (series[name] === undefined ? [] : [series[name]]));
  const { source, offsetDeg, variationDeg } = settings.heading;
  const headings = headingsAt(points.timeS, present('headingTrueDeg'), present('headingMagneticDeg'), track, convergence, {
    source: source === 'course' ? 'auto' : source,
    variationDeg: variationDeg ?? magneticVariationDeg(latDeg, lonDeg, points.timeS[middle]!),
    offsetDeg,
    loggerOffsetS: settings.time.loggerOffsetS,
    maxGapS: settings.gnss.maxGapS,
  });
  return headingRuns(points, headings, straightRuns(points, { headingDeg: 20, minRunM: 25 }), convergence);
}

/** The checks as the step left them; null where it has not run. */
export async function readInstrumentChecks(folder: string): Promise<readonly InstrumentCheck[] | null> {
  const text = await readTextIfThere(placeIn(folder, INSTRUMENTS_PLACE));
  return text === null ? null : (JSON.parse(text) as { checks: InstrumentCheck[] }).checks;
}

export const stepInstruments: Step = {
  name: 'instruments',
  version: 4,
  after: ['tracks', 'soundings'],
  settings: ['instruments', 'sounder', 'gnss', 'heading', 'time', 'order', 'uncertainty', 'water.soundSpeed', 'frame'],
  files: (work) => {
    const named = waterFilesOf(work.settings).filter(([setting]) => setting.startsWith('water.soundSpeed'));
    for (const [setting, file] of named) insideFolder(work.folder, file, setting);
    return named.map(([, file]) => file);
  },
  extra: (work) => JSON.stringify(work.logs.map((log) => log.sha256)),
  async run(work): Promise<Made> {
    const { settings, folder } = work;
    const frame = await needFrame(folder, settings, work.logs);
    const track = await trackOf(work);
    const soundings = await soundingsOf(work);
    // The bar hangs where the day begins: its water is that of the first cast.
    const sound = await soundOf(folder, settings, frame, track.n === 0 ? 0 : frame.toGeographic(track.xM[0]!, track.yM[0]!)[0]);
    const runs = straightRuns(soundings, { headingDeg: 20, minRunM: 15 });
    work.context.progress?.('instruments', 0.3, 'lines run both ways');
    const marks = stays(work, track, frame);
    const compass = await compassRuns(work, track, frame);
    const checks: InstrumentCheck[] = [
      judgeBar(settings, sound === null ? null : sound.field.casts[0]!.profile),
      judgeStatic(settings, marks.map(({ check }) => check), marks),
      judgeHeading(settings, headingCheck(compass), compass),
      judgeLatency(settings, latencyCheck({ ...soundings, run: runs.run }, Math.max(0.01, settings.uncertainty.zoningM))),
    ];
    const text = `${JSON.stringify({ checks }, null, 2)}\n`;
    return { [INSTRUMENTS_PLACE]: await writeMade(placeIn(folder, INSTRUMENTS_PLACE), text) };
  },
};
