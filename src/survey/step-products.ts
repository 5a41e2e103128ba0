import type { ByteSink } from '../base/byte-source.js';
import { openFileSource } from './file-source.js';
import { IMAGERY_PLACES } from './imagery-files.js';
import { PLACES, isThere, placeIn } from './folder.js';
import { gatherHandOver } from './gather-hand-over.js';
import { geoPackageBytes } from './hand-over.js';
import { drawingsMeanwhile } from './product-drawings.js';
import { productWriter } from './product-writer.js';
import { PRODUCT_FILES, type ProductKind } from './product-kinds.js';
import { datumCode, provenanceLines } from './product-sources.js';
import { findProducts } from './finds-products.js';
import { soundingsOf } from './step-soundings.js';
import { writeSoundingsCsv } from './soundings-csv.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { depthsBelow } from '../water/depth-datum.js';

/** What is handed over as it was made: its kind, product, and where it comes from. */
const COPIES: readonly (readonly [ProductKind, string, string])[] = [
  ['geoparquet', 'soundings.parquet', PLACES.soundings],
  ['geotiff', 'surface.tif', PLACES.surface],
  ['geojson', 'contours.geojson', PLACES.contours],
  ['geojson', 'gaps.geojson', PLACES.gaps],
  ['geojson', 'fill-in.geojson', PLACES.fillIn],
  ['geojson', 'fill-in.gpx', 'derived/fill-in.gpx'],
  ['geojson', 'lines.geojson', PLACES.lines],
  ['geojson', 'lines.gpx', PLACES.linesGpx],
  ['mosaic', 'mosaic.tif', IMAGERY_PLACES.mosaic],
];
const PIECE = 1 << 20;

async function copyInto(sink: ByteSink, from: string): Promise<void> {
  const source = await openFileSource(from);
  try {
    for (let at = 0; at < source.byteLength; at += PIECE) await sink.write(await source.read(at, at + PIECE));
  } finally {
    await source.close();
  }
}

/** What a folder of products says of itself. */
function readme(work: StepWork, frame: string, provenance: readonly string[]): string {
  const { name, products } = work.settings;
  const lines = PRODUCT_FILES.filter(([kind]) => kind === 'report' || products.write.includes(kind));
  const width = Math.max(...lines.map(([, files]) => files.length)) + 2;
  return [
    `${name}: products`,
    '',
    'NOT FOR NAVIGATION. Charts for navigation and regulated works are for licensed surveyors.',
    '',
    `Depths in metres below ${depthsBelow(work.settings)}, positive down; times UTC; positions WGS 84; rasters and drawings in ${frame}.`,
    'Uncertainties are 95 %.',
    '',
    ...lines.map(([, files, words]) => `${files.padEnd(width)}${words}`),
    '',
    ...(products.write.includes('s102')
      ? [
          `Vertical datum of surface-s102.h5: ${datumCode(work).words}.`,
          'An S-102 file on its way to a chart table is named by its producer: 102, the producer\'s code of four, up to twelve letters, .H5. This one is not.',
          '',
        ]
      : []),
    ...provenance.slice(1),
    '',
  ].join('\n');
}

export const stepProducts: Step = {
  name: 'products',
  version: 6,
  after: ['soundings', 'surface', 'contours', 'gaps', 'mosaic', 'finds'],
  settings: ['name', 'datum', 'water.level', 'corrections.waterLevel', 'frame', 'invented', 'order', 'contours.intervalM', 'contours.smooth', 'products.write', 'products.authority', 'products.verticalDatumCode'],
  files: () => [PLACES.lines, PLACES.linesGpx, PLACES.area, PLACES.keepouts],
  extra: (work) => JSON.stringify(work.logs.map(({ file, sha256 }) => [file, sha256])),
  async run(work): Promise<Made> {
    const { made, put, stream } = productWriter(work.folder);
    const { write } = work.settings.products;
    const wanted = (kind: ProductKind): boolean => write.includes(kind);
    const over = await gatherHandOver(work);
    work.context.progress?.('products', 0.1);
    const drawings = over === null ? Promise.resolve({}) : drawingsMeanwhile(over);
    const written = (async (): Promise<void> => {
      if (wanted('csv')) {
        const soundings = await soundingsOf(work);
        await stream('soundings.csv', (sink) => writeSoundingsCsv(sink, soundings, work.logs.map((log) => log.file)));
      }
      work.context.progress?.('products', 0.3);
      for (const [kind, name, from] of COPIES) {
        const file = placeIn(work.folder, from);
        if (wanted(kind) && (await isThere(file))) await stream(name, (sink) => copyInto(sink, file));
      }
      if (over === null) return;
      if (over.finds !== null && wanted('finds')) for (const [name, text] of Object.entries(findProducts(over.finds, over.frame, work.settings.name))) await put(name, text);
      work.context.progress?.('products', 0.4, 'GeoPackage');
      if (wanted('geopackage')) await put('survey.gpkg', await geoPackageBytes(over));
      work.context.progress?.('products', 0.8, 'contours, points, picture');
    })();
    // Neither is left behind when the other fails.
    for (const one of await Promise.allSettled([written, drawings])) if (one.status === 'rejected') throw one.reason;
    await put('README.txt', readme(work, over === null ? 'the survey frame' : `WGS 84 / ${over.frame.label} (EPSG:${over.frame.epsg})`, over?.provenance ?? (await provenanceLines(work, null, [NaN, NaN]))));
    return { ...made, ...(await drawings) };
  },
};
