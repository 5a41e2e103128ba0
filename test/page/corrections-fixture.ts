import path from 'node:path';
import type { Soundings } from '../../src/depths/soundings.js';
import { writeParquet } from '../../src/formats/parquet-columns.js';
import { makeAtomic } from '../../src/survey/atomic-file.js';

/** derived/corrections.parquet as the soundings step writes it: one row a sounding, metres added, its columns told in the metadata. */
export async function writeFixtureCorrections(folder: string, { n, timeS, waterLevelM }: Soundings): Promise<void> {
  const t0 = timeS[0] as number;
  const column = (value: (i: number) => number) => Float32Array.from({ length: n }, (_, i) => value(i));
  const columns = [
    { column: 'soundSpeedM', label: 'sound speed', on: true, horizontal: false, data: column((i) => 0.06 + 0.02 * Math.sin(((timeS[i] as number) - t0) / 1900)) },
    { column: 'draftM', label: 'draft at rest', on: true, horizontal: false, data: column(() => 0.2) },
    { column: 'squatM', label: 'squat', on: true, horizontal: false, data: column(() => 0) },
    { column: 'heaveM', label: 'heave', on: false, horizontal: false, data: column((i) => 0.08 * Math.sin(((timeS[i] as number) - t0) * 1.3)) },
    { column: 'waterLevelM', label: 'water level', on: true, horizontal: false, data: column((i) => -(waterLevelM[i] as number)) },
    { column: 'slopeM', label: 'slope under the beam', on: true, horizontal: false, data: column((i) => 0.03 * (1 + Math.sin(i / 300))) },
    { column: 'referenceM', label: 'to the transducer', on: true, horizontal: false, data: column(() => 0) },
    { column: 'leverArmAlongM', label: 'lever arms, along the heading', on: true, horizontal: true, data: column((i) => -0.35 + 0.01 * Math.sin(i / 40)) },
  ];
  await makeAtomic(path.join(folder, 'derived/corrections.parquet'), (sink) =>
    writeParquet(sink, [{ name: 'timeS', data: timeS }, ...columns.map(({ column: name, data }) => ({ name, data }))], { metadata: { corrections: JSON.stringify(columns.map(({ column: name, label, on, horizontal }) => ({ column: name, label, unit: 'm', on, horizontal }))) } }),
  );
}
