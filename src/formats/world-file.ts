import type { FrameSetting } from '../geo/frame.js';
import type { RasterGrid } from '../geo/raster.js';
import { utmWkt } from './utm-wkt.js';
import { escapeXml } from './xml-escape.js';

/**
 * A world file for a picture with a dot for each cell: metres a dot to the east, two turns (none), metres a dot to the south, and the
 * place of the middle of the upper left dot. Common practice; the same six figures in every program that reads one.
 */
export function worldFileText({ westM, northM, cellM }: RasterGrid): string {
  return [cellM, 0, 0, -cellM, westM + cellM / 2, northM - cellM / 2].map((value) => `${value.toFixed(6)}\r\n`).join('');
}

/** The frame beside a picture, and what the picture is, as GDAL's `.aux.xml`. */
export function pictureAuxText(frame: FrameSetting, facts: Readonly<Record<string, string>>): string {
  const items = Object.entries(facts).map(([key, value]) => `    <MDI key="${escapeXml(key)}">${escapeXml(value)}</MDI>\n`).join('');
  return `<PAMDataset>\n  <SRS dataAxisToSRSAxisMapping="1,2">${escapeXml(utmWkt(frame))}</SRS>\n  <Metadata>\n${items}  </Metadata>\n</PAMDataset>\n`;
}
