import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import type { CorrectedStretch } from '../src/imagery/correct-stretch.js';
import { levelByte } from '../src/imagery/learned-gain.js';
import { outward, type SonarTrack } from '../src/imagery/sonar-track.js';

/**
 * Writes corrected pings as a picture of pings by ground bins with the place of every pixel beside it (GDAL's geolocation arrays):
 * columns from the furthest port bin over the track to the furthest starboard bin.
 * @returns name of the file to warp
 */
export function writeGeolocated(folder: string, name: string, stretch: CorrectedStretch, rowStart: number, track: Pick<SonarTrack, 'xM' | 'yM' | 'gridHeadingDeg'>, epsg: number): string {
  const { n, width, groundM } = stretch;
  const cols = 2 * width;
  const levels = new Uint8Array(n * cols);
  const x = new Float64Array(n * cols);
  const y = new Float64Array(n * cols);
  for (let ping = 0; ping < n; ping++) {
    const row = rowStart + ping;
    for (const side of ['port', 'starboard'] as const) {
      const [east, north] = outward(side, track.gridHeadingDeg[row]!);
      for (let bin = 0; bin < width; bin++) {
        const at = ping * cols + (side === 'port' ? width - 1 - bin : width + bin);
        levels[at] = levelByte(stretch[side][ping * width + bin]!);
        x[at] = track.xM[row]! + east * groundM[bin]!;
        y[at] = track.yM[row]! + north * groundM[bin]!;
      }
    }
  }
  writeFileSync(path.join(folder, `${name}.raw`), levels);
  writeFileSync(path.join(folder, `${name}-x.raw`), x);
  writeFileSync(path.join(folder, `${name}-y.raw`), y);
  const raw = (file: string, type: string, bytes: number): string =>
    `<VRTDataset rasterXSize="${cols}" rasterYSize="${n}"><VRTRasterBand dataType="${type}" band="1" subClass="VRTRawRasterBand"><SourceFilename relativeToVRT="1">${file}</SourceFilename><ImageOffset>0</ImageOffset><PixelOffset>${bytes}</PixelOffset><LineOffset>${bytes * cols}</LineOffset><ByteOrder>LSB</ByteOrder>`;
  writeFileSync(path.join(folder, `${name}-x.vrt`), `${raw(`${name}-x.raw`, 'Float64', 8)}</VRTRasterBand></VRTDataset>`);
  writeFileSync(path.join(folder, `${name}-y.vrt`), `${raw(`${name}-y.raw`, 'Float64', 8)}</VRTRasterBand></VRTDataset>`);
  const place = (key: string, value: string | number): string => `<MDI key="${key}">${value}</MDI>`;
  const places = [place('SRS', `EPSG:${epsg}`), place('X_DATASET', path.join(folder, `${name}-x.vrt`)), place('X_BAND', 1), place('Y_DATASET', path.join(folder, `${name}-y.vrt`)), place('Y_BAND', 1), place('PIXEL_OFFSET', 0), place('LINE_OFFSET', 0), place('PIXEL_STEP', 1), place('LINE_STEP', 1), place('GEOREFERENCING_CONVENTION', 'PIXEL_CENTER')].join('');
  const head = raw(`${name}.raw`, 'Byte', 1);
  const split = head.indexOf('<VRTRasterBand');
  writeFileSync(path.join(folder, `${name}.vrt`), `${head.slice(0, split)}<Metadata domain="GEOLOCATION">${places}</Metadata>${head.slice(split)}<NoDataValue>0</NoDataValue></VRTRasterBand></VRTDataset>`);
  return `${name}.vrt`;
}

/** Warps them into one raster of raw bytes or a GeoTIFF, by what the output's name ends in. */
export function warpGeolocated(folder: string, files: readonly string[], output: string, epsg: number, cellM: number, box: { readonly westM: number; readonly southM: number; readonly eastM: number; readonly northM: number }, method = 'near'): void {
  execFileSync('gdalwarp', ['-q', '-overwrite', '-geoloc', '-t_srs', `EPSG:${epsg}`, '-tr', String(cellM), String(cellM), '-te', ...[box.westM, box.southM, box.eastM, box.northM].map(String), '-r', method, '-srcnodata', '0', '-dstnodata', '0', '-wo', 'NUM_THREADS=ALL_CPUS', '-multi', '-wm', '512', ...(output.endsWith('.raw') ? ['-of', 'ENVI'] : ['-of', 'GTiff', '-co', 'TILED=YES', '-co', 'COMPRESS=DEFLATE', '-co', 'ZLEVEL=1', '-co', 'NUM_THREADS=ALL_CPUS']), ...files, output], { cwd: folder, stdio: ['ignore', 'ignore', 'pipe'] });
}
