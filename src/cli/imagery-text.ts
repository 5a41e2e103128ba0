import { formatArea, formatCount, formatCounted, formatDifference, formatMetres, formatShare } from '../report/figures.js';
import type { MosaicSummary, SurveySummary } from '../survey/summary.js';
import { figure } from './figure.js';

const BLEND_WORDS: Readonly<Record<string, string>> = { best: 'the look with the smallest footprint', mean: 'the mean of all looks', brightest: 'the brightest look', latest: 'the latest look' };

/** How the sides compare, or which of them is silent. */
function sidesWords({ gain, silent = [] }: MosaicSummary): string {
  if (silent.length > 1) return 'neither side has an echo of the floor';
  if (silent[0] !== undefined) return `${silent[0]} has no echo of the floor`;
  return gain.starboardLouderDb === null ? 'one side alone was heard' : `starboard ${formatDifference(gain.starboardLouderDb, 1).replace(' m', ' dB')} to port`;
}

/** The side-scan part of a survey in figures. */
export function imageryText({ imagery, folder }: SurveySummary): string[] {
  if (imagery === null || imagery.bottom === null) return [figure('Side-scan pings', 'none yet', `tallow take-in ${folder} <side-scan log>`)];
  const { bottom, clock, mosaic } = imagery;
  const share = (count: number): string => formatShare(count / Math.max(1, bottom.pings));
  const parts = [
    `${share(bottom.tracked)} tracked`,
    ...(bottom.bridged > 0 ? [`${share(bottom.bridged)} bridged`] : []),
    ...(bottom.byHand > 0 ? [`${share(bottom.byHand)} by hand`] : []),
    ...(bottom.depthSurface > 0 ? [`${share(bottom.depthSurface)} from the depth surface`] : []),
    ...(bottom.none > 0 ? [`${share(bottom.none)} not known`] : []),
  ];
  const text = [
    figure('Side-scan pings', formatCount(bottom.pings)),
    figure('Floor below', bottom.heightMedianM === null ? 'not found' : `${formatMetres(bottom.heightMinM!)} to ${formatMetres(bottom.heightMaxM!)}`, `${parts.join(', ')}; sound speed ${bottom.soundSpeedMps.toFixed(0)} m/s, ${bottom.soundSpeedFrom}`),
  ];
  if (clock !== null) text.push(figure('Sonar\'s clock', clock.known ? `${formatDifference(clock.offsetS).replace(' m', ' s')}${clock.uncertainty95S === null ? '' : ` ± ${clock.uncertainty95S.toFixed(2)} s`}` : 'not known', clock.how));
  if (mosaic === null) return [...text, figure('Mosaic', 'none', 'no ping has a place on the floor: positions, heading and height are all needed')];
  const { gain } = mosaic;
  return [
    ...text,
    figure('Gain', 'learned from the pings', `${formatCount(gain.pings)} of them; ${sidesWords(mosaic)}; absorption ${gain.absorptionDbPerKm.toFixed(0)} dB/km; stripes of ${gain.stripesDb.toFixed(1)} dB taken out`),
    figure('Mosaic', `${formatCount(mosaic.cols)} x ${formatCount(mosaic.rows)} cells of ${mosaic.cellM} m`, mosaic.cellWhy),
    figure('Seen', `${formatArea(mosaic.filledM2)}`, `${mosaic.areaShare === null ? '' : `${formatShare(mosaic.areaShare)} of the area; `}${formatCount(mosaic.pingsUsed)} pings on ${formatCounted(mosaic.lines.length, 'line')}${(mosaic.pingsLost ?? 0) > 0 ? `, ${formatCount(mosaic.pingsLost ?? 0)} of them lost` : ''}; where they overlap ${BLEND_WORDS[mosaic.blend] ?? mosaic.blend}`),
  ];
}

/** The side-scan part of a survey for the whole of it: a line for the mosaic, one for the finds, one for what may remain. */
export function sideScanText({ imagery, finds, search, folder }: SurveySummary): string[] {
  if (imagery === null || imagery.bottom === null) return [];
  const { mosaic } = imagery;
  const pings = formatCount(imagery.bottom.pings);
  if (mosaic === null) return [figure('Mosaic', 'none', `${pings} side-scan pings; tallow imagery ${folder}`)];
  const text = [figure('Mosaic', formatArea(mosaic.filledM2), `${mosaic.areaShare === null ? '' : `${formatShare(mosaic.areaShare)} of the area; `}cells of ${mosaic.cellM} m, ${formatCount(mosaic.pingsUsed)} of ${pings} pings, on ${formatCounted(mosaic.lines.length, 'line')}`)];
  if (finds) text.push(figure('Finds', `${formatCount(finds.proposed)} proposed, ${formatCount(finds.confirmed)} confirmed`, `${finds.rejected > 0 ? `${formatCount(finds.rejected)} rejected; ` : ''}objects of ${formatMetres(finds.objectM, 1)} looked for`));
  if (search) text.push(figure('May remain', `${search.expectedLeft.toPrecision(2)} of ${search.expectedBefore.toPrecision(2)} expected`, `one that is there was found with a chance of ${formatShare(search.chanceMean)} on average; looked at: ${formatShare(search.areaM2 === 0 ? 0 : search.searchedM2 / search.areaM2)} of ${formatArea(search.areaM2)}`));
  return text;
}
