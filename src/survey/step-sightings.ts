import type { Chip } from '../finds/chip.js';
import type { DetectOptions } from '../finds/detect.js';
import { laidPings } from '../imagery/laid-pings.js';
import { writeMade } from './atomic-file.js';
import type { ShownSighting } from './finds-file.js';
import { lookAll, pingRuns, type LookGround, type PingRun, type SeenSighting } from './finds-look.js';
import { FINDS_PLACES, chipPlace } from './finds-places.js';
import { placeIn, readTextIfThere } from './folder.js';
import { readGain } from './imagery-files.js';
import type { Settings } from './settings.js';
import { pingSource, sonarSound } from './sonar-ground.js';
import { bottomOf } from './step-bottom.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { pingsOf } from './step-pings.js';
import { PING_BREAK_S, sonarTrackOf } from './step-sonar-track.js';

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

/** Runs of pings that are looked at, each a pass to either side. */
export function lookedRuns({ track, used, pings }: LookGround): PingRun[] {
  return pingRuns(track, used, pings.log, PING_BREAK_S);
}

/** derived/finds/candidates.json: what was proposed, whatever was decided on it. A number that is not known is null in the file and NaN here. */
interface Candidates {
  readonly format: 'tallow-candidates';
  readonly version: 1;
  /** Floor looked over, each side of each line for itself [m2]. */
  readonly lookedM2: number;
  readonly sightings: readonly ShownSighting[];
}

/** Writes the pictures of sightings. @param made what is written is entered here @returns the sightings with the places of theirs */
export async function writeChips(folder: string, seen: readonly SeenSighting[], made: Record<string, { sha256: string; bytes: number }>): Promise<ShownSighting[]> {
  const { encode } = await import('fast-png');
  const picture = ({ width, height, pixels }: Chip): Uint8Array => encode({ width, height, data: pixels, channels: 1, depth: 8 });
  const shown: ShownSighting[] = [];
  for (const { sighting, chip } of seen) {
    const place = chip === null ? null : chipPlace(sighting.id);
    if (chip !== null && place !== null) made[place] = await writeMade(placeIn(folder, place), picture(chip));
    shown.push({ ...sighting, chip: place });
  }
  return shown;
}

/** The candidates as they stand in the folder; none where there is no side-scan log. */
export async function candidatesOf(folder: string): Promise<Pick<Candidates, 'lookedM2' | 'sightings'>> {
  const text = await readTextIfThere(placeIn(folder, FINDS_PLACES.candidates));
  if (text === null) return { lookedM2: 0, sightings: [] };
  return JSON.parse(text, (key, value: unknown) => (value === null && key !== 'chip' ? NaN : value)) as Candidates;
}

/** What stands out on the pictures. It is looked for once; what is decided on it is the step finds. */
export const stepSightings: Step = {
  name: 'sightings',
  version: 1,
  after: ['bottom', 'sonar-track', 'mosaic'],
  settings: ['finds.objectM', 'finds.objectHeightM', 'finds.propose', 'finds.falsePerHa', 'imagery.beamDeg', 'imagery.turns', 'imagery.maxRangeShare', 'sonar', 'water.soundSpeed', 'sounder.soundSpeedSetMps', 'frame'],
  files: () => [],
  extra: (work) => JSON.stringify(work.logs.map(({ sha256 }) => sha256)),
  async run(work): Promise<Made> {
    const ground = await lookGround(work);
    if (ground === null) return {};
    const { folder, settings } = work;
    const made: Record<string, { sha256: string; bytes: number }> = {};
    const { seen, lookedM2 } = settings.finds.propose ? await lookAll(ground, lookedRuns(ground), detectOptions(settings)) : { seen: [], lookedM2: 0 };
    const file: Candidates = { format: 'tallow-candidates', version: 1, lookedM2, sightings: await writeChips(folder, seen, made) };
    made[FINDS_PLACES.candidates] = await writeMade(placeIn(folder, FINDS_PLACES.candidates), `${JSON.stringify(file, (_key, value: unknown) => (typeof value === 'number' && !Number.isFinite(value) ? null : value), 1)}\n`);
    return made;
  },
};
