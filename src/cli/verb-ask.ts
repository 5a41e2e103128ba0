import { UseError } from '../base/errors.js';
import { formatArea, formatCount, formatLength, formatMetres, formatPosition, formatShare } from '../report/figures.js';
import { askFolder, type FloorAnswer, type FloorQuestion } from '../survey/ask-folder.js';
import { openDesk } from '../survey/open-desk.js';
import type { Command, CommandArguments } from './command.js';
import { placeOption } from './places.js';
import { SET_OPTION, applySettings, numberOption, textOption } from './settings-options.js';

const TOPICS = ['volume', 'change', 'slope', 'rugosity', 'profile', 'soundings', 'least'] as const;

function questionOf(given: CommandArguments): FloorQuestion {
  const topic = TOPICS.find((one) => one === given.positionals[1]);
  if (topic === undefined) throw new UseError(`the question: expected ${TOPICS.join(', ')}, found ${JSON.stringify(given.positionals[1])}`);
  const within = textOption(given, 'within') ?? null;
  switch (topic) {
    case 'volume':
      return { topic, within, levelM: numberOption(given, 'level') ?? null, design: textOption(given, 'design') ?? null, intervalM: numberOption(given, 'interval') ?? null };
    case 'change': {
      const since = textOption(given, 'since');
      if (since === undefined) throw new UseError('ask change: since when? Give --since FOLDER, an earlier survey, or --since FILE, a GeoTIFF of depth and its uncertainty', { path: '--since' });
      return { topic, within, since };
    }
    case 'profile': {
      const line = textOption(given, 'line');
      if (line === undefined) throw new UseError('ask profile: along what? Give --line LAT,LON/LAT,LON, two places or more', { path: '--line' });
      return { topic, within, places: line.split('/').map((place) => placeOption(place, 'line')!) };
    }
    case 'soundings': {
      const scale = numberOption(given, 'scale');
      if (scale === undefined || !(scale > 0)) throw new UseError('ask soundings: for which scale? Give --scale 5000 for a chart at 1 : 5000', { path: '--scale' });
      const apartMm = numberOption(given, 'apart') ?? 8;
      if (!(apartMm > 0)) throw new UseError(`--apart: expected more than 0 mm, found ${apartMm}`, { path: '--apart' });
      return { topic, within, scale, apartMm };
    }
    default:
      return { topic, within };
  }
}

const cubic = (value: number): string => `${formatCount(Math.round(value))} m³`;

function replyText({ reply }: FloorAnswer): string[] {
  switch (reply.topic) {
    case 'volume':
      return [
        `Against ${reply.against}:`,
        `  Above it   ${cubic(reply.aboveM3)} ± ${cubic(reply.aboveHalf95M3)} on ${formatArea(reply.aboveM2)}`,
        `  Below it   ${cubic(reply.belowM3)} ± ${cubic(reply.belowHalf95M3)} over ${formatArea(reply.belowM2)}`,
        `  Balance    ${cubic(reply.netM3)} ± ${cubic(reply.netHalf95M3)} (above less below)`,
        ...(reply.unknownM2 > 0 ? [`  ! Nothing is known of ${formatArea(reply.unknownM2)} of what was asked about: it is not in these figures.`] : []),
        ...reply.steps.map((row) => `  ${formatMetres(row.levelM)}   deeper: ${formatArea(row.deeperM2)}   below: ${cubic(row.belowM3)} ± ${cubic(row.belowHalf95M3)}`),
      ];
    case 'change':
      return [
        `Since ${reply.since}, over ${formatArea(reply.comparedM2)} that both cover:`,
        `  ${reply.meanM >= 0 ? 'Deeper' : 'Shoaler'} by ${formatMetres(Math.abs(reply.meanM))} on average (spread ${formatMetres(reply.deviationM)})`,
        `  Beyond chance on ${formatShare(reply.significantShare)} of it (5 % would be where nothing changed)`,
        `  Gone       ${cubic(reply.deeperM3)}, of that beyond chance ${cubic(reply.deeperSignificantM3)}`,
        `  Come       ${cubic(reply.shoalerM3)}, of that beyond chance ${cubic(reply.shoalerSignificantM3)}`,
        `  Net        ${cubic(Math.abs(reply.netM3))} ± ${cubic(reply.netHalf95M3)} ${reply.netM3 >= 0 ? 'gone' : 'come'}${Math.abs(reply.netM3) <= reply.netHalf95M3 ? ': within what the two surveys may be off as a whole' : ''}`,
        ...reply.notes.map((note) => `  ! ${note}`),
      ];
    case 'slope':
    case 'rugosity': {
      const unit = reply.unit === 'deg' ? '°' : '';
      const digits = reply.unit === 'deg' ? 1 : 3;
      return [`${reply.topic === 'slope' ? 'Slope' : 'Rugosity (floor over chart area)'} of ${formatCount(reply.cells)} cells: median ${reply.medianValue.toFixed(digits)}${unit}, mean ${reply.meanValue.toFixed(digits)}${unit}, 95 % below ${reply.p95Value.toFixed(digits)}${unit}, largest ${reply.largest.toFixed(digits)}${unit}`];
    }
    case 'profile':
      return [`Profile of ${formatLength(reply.lengthM)}: ${formatMetres(reply.shoalestM)} to ${formatMetres(reply.deepestM)}${reply.knownM < 0.99 * reply.lengthM ? `, known along ${formatLength(reply.knownM)} of it` : ''}; ${formatCount(reply.soundings)} soundings beside it`];
    case 'soundings':
      return [`${formatCount(reply.selected)} of ${formatCount(reply.of)} soundings for 1 : ${formatCount(reply.scale)}, ${reply.apartMm} mm (${formatMetres(reply.radiusM, 1)}) apart, the shoalest first`];
    case 'least':
      return [
        `Least depth  ${formatMetres(reply.depthM)} ± ${formatMetres(reply.tvuM)} at ${formatPosition(reply.latDeg, reply.lonDeg)} ± ${formatMetres(reply.thuM, 1)}${reply.line < 0 ? '' : `, line ${reply.line}`}, ${reply.timeUtc}`,
        `  of ${formatCount(reply.count)} good soundings; the surface's least is ${formatMetres(reply.surfaceM)}, at 95 % not less than ${formatMetres(reply.surfaceLeastM)}. What stands between lines has not been seen.`,
      ];
  }
}

export const verbAsk: Command = {
  verb: 'ask',
  summary: 'Ask the floor: volumes against a level or design, change since an earlier survey, slope, rugosity, a profile, soundings for a scale, least depth.',
  usage: '<survey folder> <question>',
  minPositionals: 2,
  maxPositionals: 2,
  options: {
    within: { type: 'string', value: 'FILE', help: 'only inside these polygons: GeoJSON, KML or GPX' },
    level: { type: 'string', value: 'METRES', help: 'volume: a level below the datum, positive down' },
    design: { type: 'string', value: 'FILE', help: 'volume: a GeoTIFF of design depths in the survey\'s frame' },
    interval: { type: 'string', value: 'METRES', help: 'volume: a table of area and volume by level too' },
    since: { type: 'string', value: 'PLACE', help: 'change: an earlier survey folder, or a GeoTIFF of depth and its 95 % uncertainty' },
    line: { type: 'string', value: 'PLACES', help: 'profile: LAT,LON/LAT,LON and more' },
    scale: { type: 'string', value: 'N', help: 'soundings: for a chart at 1 : N' },
    apart: { type: 'string', value: 'MM', help: 'soundings: least distance between two on paper; 8 when left out' },
    set: SET_OPTION,
  },
  example: 'tallow ask inlet volume --level 5 --within basin.geojson\ntallow ask inlet change --since last-year',
  async run(given, terminal) {
    const folder = given.positionals[0] as string;
    const question = questionOf(given);
    const desk = await openDesk(folder);
    await applySettings(desk, given);
    await desk.build(terminal.context, 'surface');
    const answer = await askFolder(folder, question, terminal.context);
    return {
      text: [...replyText(answer), ...(answer.files.length > 0 ? [`Written: ${answer.files.join(', ')}`] : [])],
      json: { verb: 'ask', folder, ...answer },
    };
  },
};
