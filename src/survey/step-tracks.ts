import { mergeTracks } from '../depths/merge-tracks.js';
import type { Track } from '../depths/track.js';
import { writeParquet, type Column } from '../formats/parquet-columns.js';
import { appliedTimes } from './applied-corrections.js';
import { makeAtomic, writeMade } from './atomic-file.js';
import { readColumnsFile } from './columns-file.js';
import { PLACES, placeIn } from './folder.js';
import { observationsOf } from './step-observations.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { needFrame } from './survey-frame.js';
import { trialLogs } from './trials-log.js';

/** What became of the positions, beside the track. */
export const TRACK_FIGURES = 'derived/tracks.json';

/** Columns of derived/tracks.parquet in their order. */
export const TRACK_COLUMNS = ['timeS', 'latDeg', 'lonDeg', 'xM', 'yM', 'courseDeg', 'speedMps', 'sigmaM', 'quality', 'jump', 'log', 'record'] as const;

/** The track: from this run's memory, or from its file. */
export async function trackOf(work: StepWork): Promise<Track> {
  const held = work.memory.get('track') as Track | undefined;
  if (held !== undefined) return held;
  const columns = await readColumnsFile(placeIn(work.folder, PLACES.tracks), TRACK_COLUMNS);
  const track = { n: columns['timeS']!.length, ...columns } as unknown as Track;
  work.memory.set('track', track);
  return track;
}

export const stepTracks: Step = {
  name: 'tracks',
  version: 4,
  after: ['observations'],
  settings: ['frame', 'time.loggerOffsetS', 'gnss.latencyS', 'gnss.sigmaM', 'gnss.maxSpeedMps', 'corrections.clock', 'corrections.latency', 'boat.trialLogs'],
  files: () => [PLACES.area],
  async run(work): Promise<Made> {
    const { settings } = work;
    const frame = await needFrame(work.folder, settings, work.logs);
    const observations = await observationsOf(work);
    // A log of sea trials without a depth in it is no part of the survey's track.
    const trials = new Set(trialLogs(work.logs.map((entry, i) => ({ entry, observations: observations[i]! })), settings.boat.trialLogs).filter((log) => log.observations.pings.n === 0).map(({ entry }) => entry.file));
    const surveyed = observations.some(({ pings }) => pings.n > 0);
    const { track, counts } = mergeTracks(
      observations.flatMap(({ fixes }, log) => (surveyed && trials.has(work.logs[log]!.file) ? [] : [{ log, fixes }])),
      frame,
      { ...appliedTimes(settings), sigmaM: settings.gnss.sigmaM, maxSpeedMps: settings.gnss.maxSpeedMps },
    );
    work.memory.set('track', track);
    const latDeg = new Float64Array(track.n);
    const lonDeg = new Float64Array(track.n);
    for (let i = 0; i < track.n; i++) [latDeg[i], lonDeg[i]] = frame.toGeographic(track.xM[i] as number, track.yM[i] as number);
    const all = { ...track, latDeg, lonDeg };
    const columns: Column[] = TRACK_COLUMNS.map((name) => ({ name, data: all[name] }));
    const made = await makeAtomic(placeIn(work.folder, PLACES.tracks), (sink) => writeParquet(sink, columns));
    const text = `${JSON.stringify(counts, null, 2)}\n`;
    return { [PLACES.tracks]: made, [TRACK_FIGURES]: await writeMade(placeIn(work.folder, TRACK_FIGURES), text) };
  },
};
