import { UseError } from '../base/errors.js';
import { formatArea, formatCount, formatDifference, formatMetres, formatShare } from '../report/figures.js';
import { openDesk } from '../survey/open-desk.js';
import type { SurveySummary } from '../survey/summary.js';
import type { Command, CommandResult } from './command.js';
import { SET_OPTION, applySettings, numberOption, textOption } from './settings-options.js';
import { buildText, notesText } from './text.js';

const BLENDS = ['best', 'mean', 'brightest', 'latest'] as const;
const BLEND_WORDS: Readonly<Record<string, string>> = { best: 'the look with the smallest footprint', mean: 'the mean of all looks', brightest: 'the brightest look', latest: 'the latest look' };

function figure(label: string, value: string, qualifier = ''): string {
  return `  ${label.padEnd(16)}${value}${qualifier === '' ? '' : `  (${qualifier})`}`;
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
    figure('Gain', 'learned from the pings', `${formatCount(gain.pings)} of them; starboard ${formatDifference(gain.starboardLouderDb, 1).replace(' m', ' dB')} to port; absorption ${gain.absorptionDbPerKm.toFixed(0)} dB/km; stripes of ${gain.stripesDb.toFixed(1)} dB taken out`),
    figure('Mosaic', `${formatCount(mosaic.cols)} x ${formatCount(mosaic.rows)} cells of ${mosaic.cellM} m`, mosaic.cellWhy),
    figure('Seen', `${formatArea(mosaic.filledM2)}`, `${mosaic.areaShare === null ? '' : `${formatShare(mosaic.areaShare)} of the area; `}${formatCount(mosaic.pingsUsed)} pings on ${formatCount(mosaic.lines.length)} ${mosaic.lines.length === 1 ? 'line' : 'lines'}${(mosaic.pingsLost ?? 0) > 0 ? `, ${formatCount(mosaic.pingsLost ?? 0)} of them lost` : ''}; where they overlap ${BLEND_WORDS[mosaic.blend] ?? mosaic.blend}`),
  ];
}

export const verbImagery: Command = {
  verb: 'imagery',
  summary: 'Find the floor under the side-scan, even out its pings and make a mosaic of them.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    cell: { type: 'string', value: 'METRES', help: 'side of a cell of the mosaic; left out, it is chosen from the pings' },
    blend: { type: 'string', value: 'RULE', help: `where lines overlap: ${BLENDS.join(', ')}` },
    'per-line': { type: 'boolean', help: 'also write every line as a picture of its own' },
    set: SET_OPTION,
  },
  example: 'tallow imagery inlet --cell 0.1 --blend best --per-line',
  async run(given, terminal): Promise<CommandResult> {
    const folder = given.positionals[0] as string;
    const blend = textOption(given, 'blend');
    if (blend !== undefined && !BLENDS.some((each) => each === blend)) throw new UseError(`--blend: expected ${BLENDS.join(', ')}, found ${JSON.stringify(blend)}`, { path: '--blend', found: blend });
    const desk = await openDesk(folder);
    await applySettings(desk, given, { 'imagery.cellM': numberOption(given, 'cell'), 'imagery.blend': blend, 'imagery.perLine': given.options['per-line'] === true ? true : undefined });
    const { summary, ran, fresh } = await desk.build(terminal.context, 'mosaic');
    const written = summary.imagery?.mosaic ? ['Written: derived/imagery/mosaic.tif'] : [];
    return {
      text: [...imageryText(summary), ...notesText(summary), ...written, ...buildText({ summary, ran, fresh })],
      json: { verb: 'imagery', folder, imagery: summary.imagery, notes: summary.notes, ran, fresh },
    };
  },
};
