import { encode } from 'fast-png';
import type { ByteSink, ByteSource } from '../base/byte-source.js';
import { FormatError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import type { SonarSamples } from '../base/sonar.js';
import { formatUtc } from '../base/time.js';
import { readGreyImage } from './image-pixels.js';
import { emptyHeads, emptyStretch, SAMPLES_MAX, SonarTally, summariseSonar, type OpenSonar, type SonarContent } from './sonar-summary.js';
import { spreadWholeSeconds } from './spread-seconds.js';
import { readStripNavigation } from './strip-navigation.js';

/** Pixels of a strip that can be read again, at 16 bits each. */
const PIXELS_MAX = 1 << 27;
/** Slant ranges of a strip are reckoned with this, as its maker's were [m/s]. */
const SOUND_MPS = 1500;

/**
 * Opens an image of side-scan pings, with a CSV of where and when each row was: a row is a ping, the top one the first; the middle is
 * under the sonar, port to the left, starboard to the right, ranges growing outwards to `range_m` of the CSV. Levels are taken as
 * amplitudes; of colours, the brightness (0.299 R + 0.587 G + 0.114 B, ITU-R BT.601).
 *
 * The image is held in memory whole. Where image and CSV differ in rows, those that both have are taken, from the top.
 *
 * @throws FormatError where the image or the CSV cannot be read, UnsupportedError where the image is too large
 */
export async function openImageStrip(source: ByteSource, navigation: ByteSource, options: { readonly sampleIntervalUs?: number | null; readonly context?: WorkContext } = {}): Promise<OpenSonar> {
  const { context = {}, sampleIntervalUs = null } = options;
  const tally = new SonarTally();
  const strip = await readGreyImage(source, context.signal);
  const rows = readStripNavigation(navigation.name, new TextDecoder().decode(await navigation.read(0, navigation.byteLength, context.signal)));
  if (rows.n !== strip.height) {
    tally.reject('rows-differ', `rows without their like: the image has ${strip.height}, its CSV ${rows.n}; those that both have are taken, from the top`, Math.min(rows.n, strip.height) + 1, Math.abs(rows.n - strip.height));
  }
  const n = Math.min(rows.n, strip.height);
  if (n === 0) throw new FormatError('no-records', source.name, `${source.name}: the image or its CSV ${navigation.name} has no row`);
  const half = strip.width >> 1;
  if (half < 1 || half > SAMPLES_MAX) throw new FormatError('no-records', source.name, `${source.name}: the image is ${strip.width} pixels wide; expected port and starboard beside one another`);
  if (strip.width % 2 === 1) tally.note('the image has an odd number of columns: the one in the middle is left out');
  const heads = emptyHeads(n);
  for (let i = 0; i < n; i++) {
    heads.timeS[i] = rows.timeS[i] as number;
    heads.portSamples[i] = half;
    heads.starboardSamples[i] = half;
    const interval = sampleIntervalUs !== null ? sampleIntervalUs / 1e6 : (2 * (rows.rangeM[i] as number)) / SOUND_MPS / half;
    heads.intervalS[i] = interval > 0 && Number.isFinite(interval) ? interval : NaN;
    if (Math.abs(rows.latDeg[i] as number) <= 90 && Math.abs(rows.lonDeg[i] as number) <= 180) {
      heads.latDeg[i] = rows.latDeg[i] as number;
      heads.lonDeg[i] = rows.lonDeg[i] as number;
    }
    for (const name of ['headingDeg', 'heightM', 'depthM', 'frequencyHz'] as const) heads[name][i] = rows[name][i] as number;
  }
  if (spreadWholeSeconds(heads.timeS)) tally.note('times are given to the second only: rows are spread evenly within each second');
  const summary = summariseSonar('sonar-image', heads, { rows: n }, n, tally);
  return {
    heads,
    summary,
    read(start, end): Promise<SonarSamples> {
      const stretch = emptyStretch(heads, start, end);
      for (let i = start; i < end; i++) {
        const [row, out] = [i * strip.width, (i - start) * stretch.width];
        for (let k = 0; k < half; k++) {
          stretch.port[out + k] = strip.grey[row + half - 1 - k] as number;
          stretch.starboard[out + k] = strip.grey[row + strip.width - half + k] as number;
        }
      }
      return Promise.resolve(stretch);
    },
    close: () => Promise.resolve(),
  };
}

/**
 * Writes pings as a strip of 16-bit grey in PNG and the CSV of its rows, as `openImageStrip` reads them: amplitudes rounded and held
 * within 0 to 65 535, no-data 0. The time between samples must be the same on both sides and gives range_m at 1500 m/s.
 * @throws RangeError where the strip is larger than can be read again
 */
export async function writeImageStrip(image: ByteSink, navigation: ByteSink, { heads, read }: SonarContent): Promise<void> {
  let half = 1;
  for (let i = 0; i < heads.n; i++) half = Math.max(half, heads.portSamples[i] as number, heads.starboardSamples[i] as number);
  if (2 * half * heads.n > PIXELS_MAX || heads.n === 0) throw new RangeError(`${heads.n} pings of ${half} samples: an image strip holds at least one, and at most ${PIXELS_MAX} pixels`);
  const data = new Uint16Array(2 * half * heads.n);
  const level = (value: number): number => (value > 0 ? Math.min(65_535, Math.round(value)) : 0);
  let text = 'time,lat,lon,heading,height_m,depth_m,range_m,frequency_hz\n';
  const shown = (value: number, decimals: number): string => (Number.isFinite(value) ? value.toFixed(decimals) : '');
  for (let start = 0; start < heads.n; start += 256) {
    const end = Math.min(heads.n, start + 256);
    const stretch = await read(start, end);
    for (let i = start; i < end; i++) {
      for (let k = 0; k < stretch.width; k++) {
        data[2 * half * i + half - 1 - k] = level(stretch.port[(i - start) * stretch.width + k] as number);
        data[2 * half * i + half + k] = level(stretch.starboard[(i - start) * stretch.width + k] as number);
      }
      const time = heads.timeS[i] as number;
      const cells = [Number.isFinite(time) ? formatUtc(time, 6) : '', shown(heads.latDeg[i] as number, 9), shown(heads.lonDeg[i] as number, 9), shown(heads.headingDeg[i] as number, 2), shown(heads.heightM[i] as number, 3), shown(heads.depthM[i] as number, 3), shown(((heads.intervalS[i] as number) * half * SOUND_MPS) / 2, 5), shown(heads.frequencyHz[i] as number, 0)];
      text += `${cells.join(',')}\n`;
    }
  }
  await image.write(encode({ width: 2 * half, height: heads.n, data, depth: 16, channels: 1 }));
  await navigation.write(new TextEncoder().encode(text));
}
