import { decideFinds } from '../finds/decide-finds.js';
import type { Find } from '../finds/find.js';
import { numberFinds } from '../finds/number-finds.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import { writeParquet } from '../formats/parquet-columns.js';
import { makeAtomic, writeMade } from './atomic-file.js';
import { findActs } from './find-decisions.js';
import { findFeatures, findsText, readFinds, sightingColumns, type FindsFile } from './finds-file.js';
import { placeMarks, type LookGround } from './finds-look.js';
import { FINDS_PLACES } from './finds-places.js';
import { PLACES, placeIn } from './folder.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { candidatesOf, detectOptions, lookGround, lookedRuns, writeChips } from './step-sightings.js';
import type { FindsSummary } from './summary.js';
import { needFrame } from './survey-frame.js';

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
  version: 6,
  after: ['sightings', 'bottom', 'sonar-track', 'mosaic'],
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
    const candidates = await candidatesOf(folder);
    const marks = await placeMarks(ground, lookedRuns(ground), acts, options.beamDeg);
    const made: Record<string, { sha256: string; bytes: number }> = {};
    const all = [...candidates.sightings, ...(await writeChips(folder, marks.seen, made))];
    const findOptions = { sharedM: sharedSigmaM(ground, settings.finds.sharedShare), priorPerHa: settings.finds.priorPerHa };
    const decided = decideFinds(all, acts, findOptions);
    const numbers = numberFinds(decided.finds, all, findOptions);
    const lost = [...new Set([...marks.lost, ...decided.lost])];
    const put = async (place: string, content: string | Uint8Array): Promise<void> => {
      made[place] = await writeMade(placeIn(folder, place), content);
    };
    const inFinds = new Map(decided.finds.flatMap((find, at) => find.sightings.map((id) => [id, at])));
    const sightings = [...all].sort((a, b) => (inFinds.get(a.id) ?? 0) - (inFinds.get(b.id) ?? 0) || a.timeS - b.timeS || (a.id < b.id ? -1 : 1));
    const file: FindsFile = {
      format: 'tallow-finds',
      version: 1,
      finds: decided.finds.map((find, at) => {
        const [latDeg, lonDeg] = frame.toGeographic(find.place.xM, find.place.yM);
        return { number: numbers[at]!, latDeg, lonDeg, ...find };
      }),
      sightings,
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
      lookedM2: candidates.lookedM2,
      notes: [...lost, ...(settings.finds.propose ? [] : ['nothing is proposed: finds.propose is off'])],
    };
    await put(FINDS_PLACES.figures, `${JSON.stringify(figures, null, 2)}\n`);
    // What the file says, numbers as it has them.
    work.memory.set('finds', await readFinds(folder));
    return made;
  },
};
