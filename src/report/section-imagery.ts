import { base64 } from './base64.js';
import type { Block } from './document.js';
import { heading, paragraph, table, words } from './document.js';
import { formatArea, formatCount, formatCounted, formatDifference, formatMetres, formatShare } from './figures.js';
import { niceBelow } from './nice-steps.js';
import type { ReportInput, ReportMosaic } from './report-input.js';
import { FONT_ATTRIBUTE, mm } from './svg-text.js';

/** Room for the picture [mm]. */
const WIDTH_MM = 180;
const HEIGHT_MM = 150;
const FOOT_MM = 7;

const BLENDS: Readonly<Record<string, string>> = { best: 'the look with the smallest footprint', mean: 'the mean of all looks', brightest: 'the brightest look', latest: 'the latest look' };

/** The side-scan mosaic and what it was made with; nothing where there was no side-scan. */
export function imagerySection(input: ReportInput): Block[] {
  const { imagery, settings } = input.summary;
  if (imagery === null || imagery.bottom === null) return [];
  const { bottom, clock, mosaic } = imagery;
  const share = (count: number): string => formatShare(count / Math.max(1, bottom.pings));
  const { mount, draftM, layback } = settings.sonar;
  const rows: string[][] = [
    ['Pings', formatCount(bottom.pings), [`floor heard under ${share(bottom.tracked)}`, ...(bottom.bridged > 0 ? [`carried on under ${share(bottom.bridged)}`] : []), ...(bottom.byHand > 0 ? [`drawn by hand under ${share(bottom.byHand)}`] : []), ...(bottom.depthSurface > 0 ? [`from the depths under ${share(bottom.depthSurface)}`] : []), ...(bottom.none > 0 ? [`not known under ${share(bottom.none)}`] : [])].join(', ')],
    ...(bottom.heightMedianM === null ? [] : [['Sonar above the floor', `${formatMetres(bottom.heightMinM!, 1)} to ${formatMetres(bottom.heightMaxM!, 1)}`, `median ${formatMetres(bottom.heightMedianM, 1)}`]]),
    ['Where the sonar sits', `${formatDifference(mount.forwardM)} forward, ${formatDifference(mount.starboardM)} to starboard`, layback === null ? `carried, ${formatMetres(draftM)} below the water` : `towed, ${formatMetres(layback.cableOutM, 1)} of cable`],
    ['Sound speed', `${bottom.soundSpeedMps.toFixed(0)} m/s`, bottom.soundSpeedFrom],
    ...(clock === null ? [] : [['Sonar\'s clock', clock.known ? `${formatDifference(clock.offsetS).replace(' m', ' s')}${clock.uncertainty95S === null ? '' : ` ± ${clock.uncertainty95S.toFixed(2)} s`}` : 'not known', clock.how]]),
    ...(mosaic === null
      ? []
      : [
          ['Gain', 'learned from the pings', `spreading ${mosaic.gain.spreadingDb} dB a decade of range, absorption ${mosaic.gain.absorptionDbPerKm.toFixed(0)} dB/km, then the usual return of this floor by angle and range taken off`],
          ['Mosaic', `cells of ${formatMetres(mosaic.cellM)}`, `${formatCounted(mosaic.pingsUsed, 'ping')} on ${formatCounted(mosaic.lines.length, 'line')}; where they overlap ${BLENDS[mosaic.blend] ?? mosaic.blend}${settings.imagery.turns ? '; turns are in it' : '; turns are left out'}`],
          ['Seen', formatArea(mosaic.filledM2), mosaic.areaShare === null ? '' : `${formatShare(mosaic.areaShare)} of the area`],
        ]),
  ];
  return [
    heading(1, 'Side-scan pictures'),
    table('How the mosaic was made', [words('What', 0), words('Value', 2), words('How', 5)], rows, ''),
    ...(mosaic?.notes ?? []).map((note) => paragraph(note, 'quiet')),
    ...(input.mosaic == null ? [] : [picture(input.mosaic, settings.name)]),
  ];
}

/** The mosaic in a frame with a scale bar. */
function picture({ png, cols, rows, cellM, cellFullM }: ReportMosaic, name: string): Block {
  const [eastM, northM] = [cols * cellM, rows * cellM];
  const scale = Math.min(WIDTH_MM / eastM, (HEIGHT_MM - FOOT_MM) / northM);
  const [widthMm, heightMm] = [eastM * scale, northM * scale];
  const barM = niceBelow(eastM / 4);
  const foot = heightMm + 3;
  const svg = [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${mm(widthMm)} ${mm(heightMm + FOOT_MM)}" ${FONT_ATTRIBUTE}>`,
    `<image x="0" y="0" width="${mm(widthMm)}" height="${mm(heightMm)}" preserveAspectRatio="none" href="data:image/png;base64,${base64(png)}"/>`,
    `<rect x="0" y="0" width="${mm(widthMm)}" height="${mm(heightMm)}" fill="none" stroke="#1d1d1b" stroke-width="0.25"/>`,
    `<path d="M0.2 ${mm(foot - 1)}v2h${mm(barM * scale)}v-2" fill="none" stroke="#1d1d1b" stroke-width="0.35"/>`,
    `<text x="${mm(barM * scale + 2)}" y="${mm(foot + 1.4)}" font-size="3.2" fill="#1d1d1b">${barM >= 1000 ? `${barM / 1000} km` : `${barM} m`}</text>`,
    '</svg>',
  ].join('');
  return {
    kind: 'figures',
    figures: [{ svg, widthMm, heightMm: heightMm + FOOT_MM, alt: `Side-scan mosaic of ${name}` }],
    caption: `Side-scan mosaic, frame north up: from 12 dB below the usual return of the floor at that angle (black) to 12 dB above it (light); mid grey is as usual, white was not seen. Drawn in cells of ${formatMetres(cellM)}; mosaic.tif has ${formatMetres(cellFullM)}. Not for navigation.`,
  };
}
