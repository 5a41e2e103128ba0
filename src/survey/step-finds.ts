import { decideFinds } from '../finds/decide-finds.js';
import type { DetectOptions } from '../finds/detect.js';
import type { Find } from '../finds/find.js';
import { numberFinds } from '../finds/number-finds.js';
import { laidPings } from '../imagery/laid-pings.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import { writeParquet } from '../formats/parquet-columns.js';
import { makeAtomic, writeMade } from './atomic-file.js';
import { findActs } from './find-decisions.js';
import { findFeatures, findsText, readFinds, sightingColumns, type FindsFile, type ShownSighting } from './finds-file.js';
import { lookAll, pingRuns, type LookGround } from './finds-look.js';
import { FINDS_PLACES, chipPlace } from './finds-places.js';
import { PLACES, placeIn } from './folder.js';
import { readGain } from './imagery-files.js';
import type { Settings } from './settings.js';
import { pingSource, sonarSound } from './sonar-ground.js';
import { bottomOf } from './step-bottom.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { pingsOf } from './step-pings.js';
import { PING_BREAK_S, sonarTrackOf } from './step-sonar-track.js';
import type { FindsSummary } from './summary.js';
import { needFrame } from './survey-frame.js';

/** What is looked for, by the settings. */
export function detectOptions({ finds, imagery }: Settings): DetectOptions {
  return { objectM: finds.objectM, objectHeightM: finds.objectHeightM ?? finds.objectM / 2, beamDeg: imagery.beamDeg, falsePerHa: finds.falsePerHa };
}

/** What the pictures are made from; null where there are no pings, no track or no gain. */
export async function lookGround(work: StepWork): Promise<LookGround | null> {
  const pings = await pingsOf(work);
  if (pings.n === 0) return null;
  const track = await sonarTrackOf(work);
  const gain = (work.memory.get('sonar-gain') as Awaited<ReturnType<typeof readGain>> | undefined) ?? (await readGain(work.folder));
  if (track === null || gain === null) return null;
  const { heightM, heightSigmaM } = await bottomOf(work);
  const { speedMps } = await sonarSound(work, pings);
  return { work, pings, source: pingSource(work, pings), heightM, heightSigmaM, track, gain, used: laidPings(track, work.settings.imagery.turns, PING_BREAK_S), soundSpeedMps: speedMps };
}

/** One sigma of the positioning error that all looks share [m]: a share of the variance of what the track states. */
function sharedSigmaM({ track, used }: LookGround, share: number): number {
  const known = Float64Array.from(track.sigmaM).filter((sigma, row) => used[row] === 1 && Number.isFinite(sigma)).sort();
  return known.length === 0 ? 0 : Math.sqrt(share) * known[known.length >> 1]!;
}

/** The finds: from this run's memory, or from their file; null where there is no side-scan log. */
export async function findsOf(work: StepWork): Promise<FindsFile | null> {
  if (work.memory.has('finds')) return work.memory.get('finds') as FindsFile | null;
  const file = await readFinds(work.folder);
  work.memory.set('finds', file);
  return file;
}

export const stepFinds: Step = {
  name: 'finds',
  version: 4,
  after: ['bottom', 'sonar-track', 'mosaic'],
  settings: ['finds.objectM', 'finds.objectHeightM', 'finds.propose', 'finds.falsePerHa', 'finds.sharedShare', 'finds.priorPerHa', 'imagery.beamDeg', 'imagery.turns', 'imagery.maxRangeShare', 'sonar', 'water.soundSpeed', 'sounder.soundSpeedSetMps', 'frame', 'name'],
  files: () => [PLACES.area],
  extra: (work) => JSON.stringify([work.logs.map(({ sha256 }) => sha256), findActs(work.decisions)]),
  async run(work): Promise<Made> {
    const ground = await lookGround(work);
    if (ground === null) {
      work.memory.set('finds', null);
      return {};
    }
    const { folder, settings } = work;
    const options = detectOptions(settings);
    const frame = await needFrame(folder, settings, work.logs);
    const acts = findActs(work.decisions);
    const runs = pingRuns(ground.track, ground.used, ground.pings.log, PING_BREAK_S);
    const looked = await lookAll(ground, runs, options, settings.finds.propose, acts);
    const findOptions = { sharedM: sharedSigmaM(ground, settings.finds.sharedShare), priorPerHa: settings.finds.priorPerHa };
    const decided = decideFinds(looked.sightings, acts, findOptions);
    const numbers = numberFinds(decided.finds, looked.sightings, findOptions);
    const lost = [...new Set([...looked.lost, ...decided.lost])];
    const made: Record<string, { sha256: string; bytes: number }> = {};
    const put = async (place: string, content: string | Uint8Array): Promise<void> => {
      made[place] = await writeMade(placeIn(folder, place), content);
    };
    const { encode } = await import('fast-png');
    const chipOfSighting = new Map<string, string>();
    for (const find of decided.finds) {
      let n = 0;
      for (const id of find.sightings) {
        const chip = looked.chips.get(id);
        if (chip === undefined) continue;
        const place = chipPlace(find.id, ++n);
        await put(place, encode({ width: chip.width, height: chip.height, data: chip.pixels, channels: 1, depth: 8 }));
        chipOfSighting.set(id, place);
      }
    }
    const inFinds = new Map(decided.finds.flatMap((find, at) => find.sightings.map((id) => [id, at])));
    const sightings = [...looked.sightings].sort((a, b) => (inFinds.get(a.id) ?? 0) - (inFinds.get(b.id) ?? 0) || a.timeS - b.timeS || (a.id < b.id ? -1 : 1));
    const file: FindsFile = {
      format: 'tallow-finds',
      version: 1,
      finds: decided.finds.map((find, at) => {
        const [latDeg, lonDeg] = frame.toGeographic(find.place.xM, find.place.yM);
        return { number: numbers[at]!, latDeg, lonDeg, ...find };
      }),
      sightings: sightings.map((one): ShownSighting => ({ ...one, chip: chipOfSighting.get(one.id) ?? null })),
      lost,
    };
    await put(FINDS_PLACES.finds, findsText(file));
    await put(FINDS_PLACES.geojson, writeGeoJson(findFeatures(file, frame)));
    made[FINDS_PLACES.sightings] = await makeAtomic(placeIn(folder, FINDS_PLACES.sightings), (sink) =>
      writeParquet(sink, sightingColumns(sightings, frame, (sha16) => work.logs.findIndex(({ sha256 }) => sha256.startsWith(sha16))), { metadata: { caution: 'not for navigation', uncertainties: 'one sigma' } }),
    );
    const count = (state: Find['state']): number => decided.finds.filter((find) => find.state === state).length;
    const figures: FindsSummary = {
      proposed: count('proposed'),
      confirmed: count('confirmed'),
      rejected: count('rejected'),
      sightings: sightings.length,
      objectM: options.objectM,
      objectHeightM: options.objectHeightM,
      falsePerHa: options.falsePerHa,
      lookedM2: looked.lookedM2,
      notes: [...lost, ...(settings.finds.propose ? [] : ['nothing is proposed: finds.propose is off'])],
    };
    await put(FINDS_PLACES.figures, `${JSON.stringify(figures, null, 2)}\n`);
    // What the file says, numbers as it has them.
    work.memory.set('finds', await readFinds(folder));
    return made;
  },
};
