import { makeAtomic, writeAtomic } from './atomic-file.js';
import { openFileSource } from './file-source.js';
import { PLACES, isThere, placeIn } from './folder.js';
import { soundingsOf } from './step-soundings.js';
import { writeSoundingsCsv } from './soundings-csv.js';
import type { Made, Step } from './step-graph.js';

/** What is handed over as it was made: product, and where it comes from. */
const COPIES: readonly (readonly [string, string])[] = [
  ['products/soundings.parquet', PLACES.soundings],
  ['products/surface.tif', PLACES.surface],
  ['products/contours.geojson', PLACES.contours],
  ['products/gaps.geojson', PLACES.gaps],
  ['products/fill-in.geojson', PLACES.fillIn],
  ['products/fill-in.gpx', 'derived/fill-in.gpx'],
  ['products/lines.geojson', PLACES.lines],
  ['products/lines.gpx', PLACES.linesGpx],
];
const PIECE = 1 << 20;

async function copyAtomic(from: string, target: string): Promise<{ sha256: string; bytes: number }> {
  const source = await openFileSource(from);
  try {
    return await makeAtomic(target, async (sink) => {
      for (let at = 0; at < source.byteLength; at += PIECE) await sink.write(await source.read(at, at + PIECE));
    });
  } finally {
    await source.close();
  }
}

/** What a folder of products says of itself. */
function readme(name: string, datum: string, frame: string): string {
  return [
    `${name}: products`,
    '',
    'NOT FOR NAVIGATION. Charts for navigation and regulated works are for licensed surveyors.',
    '',
    `Depths in metres below ${datum}, positive down; times UTC; positions WGS 84; rasters in ${frame}.`,
    'Uncertainties are 95 %.',
    '',
    'soundings.csv / .parquet   every sounding, those set aside with their reason',
    'surface.tif                bands: 1 depth, 2 uncertainty, 3 soundings in the cell (0: filled between)',
    'contours.geojson           depth contours',
    'gaps.geojson               unsurveyed holes in the area',
    'fill-in.geojson / .gpx     lines that fill them, in the order to run them',
    'lines.geojson / .gpx       the lines as planned',
    'report.html / .pdf         what was surveyed, how, and how good it is',
    '',
  ].join('\n');
}

export const stepProducts: Step = {
  name: 'products',
  version: 1,
  after: ['soundings', 'surface', 'contours', 'gaps'],
  settings: ['name', 'datum', 'frame'],
  files: () => [PLACES.lines, PLACES.linesGpx],
  extra: (work) => JSON.stringify(work.logs.map((log) => log.file)),
  async run(work): Promise<Made> {
    const made: Record<string, { sha256: string; bytes: number }> = {};
    const soundings = await soundingsOf(work);
    const csv = 'products/soundings.csv';
    made[csv] = await makeAtomic(placeIn(work.folder, csv), (sink) => writeSoundingsCsv(sink, soundings, work.logs.map((log) => log.file)));
    work.context.progress?.('products', 0.7);
    for (const [target, from] of COPIES) {
      const file = placeIn(work.folder, from);
      if (await isThere(file)) made[target] = await copyAtomic(file, placeIn(work.folder, target));
    }
    const text = readme(work.settings.name, work.settings.datum, 'the survey frame');
    made['products/README.txt'] = { sha256: await writeAtomic(placeIn(work.folder, 'products/README.txt'), text), bytes: Buffer.byteLength(text) };
    return made;
  },
};

