import { CARD_FIGURES, type BoatCard, type CardFigureName } from '../boat/boat-card.js';
import { askCard, type BoatAnswer, type BoatReply } from '../boat/ask-card.js';
import { UseError } from '../base/errors.js';
import { openDesk } from '../survey/open-desk.js';
import { cardOf } from '../survey/step-boat.js';
import type { Command, CommandArguments } from './command.js';
import { SET_OPTION, applySettings, numberOption, textOption } from './settings-options.js';

const SOURCE = { trials: 'trials', hand: 'by hand', default: 'DEFAULT' } as const;
const WIDTH = 50;

function figures(value: number): string {
  const size = Math.abs(value);
  return size >= 100 ? value.toFixed(0) : size >= 10 ? value.toFixed(1) : value.toFixed(2);
}

function cardText(card: BoatCard): string[] {
  const rows = (Object.keys(CARD_FIGURES) as CardFigureName[]).flatMap((name) => {
    const figure = card.figures[name];
    if (figure === null) return [];
    const worth = Number.isNaN(figure.uncertainty95) ? '± not stated' : `± ${figures(figure.uncertainty95)}`;
    return [`  ${CARD_FIGURES[name].label.padEnd(WIDTH)}${figures(figure.value)}${figure.unit === '1' ? '' : ` ${figure.unit}`}  ${worth}  (${SOURCE[figure.source]})`];
  });
  const known = Object.values(card.figures).filter((figure) => figure !== null);
  const defaults = known.filter((figure) => figure.source === 'default').length;
  return [
    `Boat card${card.name === '' ? '' : ` of ${card.name}`}: ${card.lengthM} m, ${card.massKg} kg; 95 % beside each figure`,
    ...rows,
    ...(defaults > 0 ? [`  ! ${defaults} of ${known.length} figures are DEFAULTS usual for the class, not measured on this boat.`] : []),
    '  Missing or default, and the trial that would give it:',
    ...[...new Set(card.missing.map(({ trial }) => trial))].map((trial) => `    - ${trial}: ${card.missing.filter((one) => one.trial === trial).map(({ figure }) => figure).join(', ')}`),
  ];
}

/** `0.4@210`: a current of 0.4 m/s that sets towards 210 degrees true. */
function currentOption(text: string | undefined): { currentMps: number; currentSetDeg: number } {
  if (text === undefined) return { currentMps: 0, currentSetDeg: 0 };
  const match = /^(\d+(?:\.\d+)?)@(-?\d+(?:\.\d+)?)$/.exec(text.trim());
  if (match === null) throw new UseError(`--current: expected SPEED@DIRECTION, m/s and degrees true that it sets towards, found ${JSON.stringify(text)}; for example --current 0.4@210`);
  return { currentMps: Number(match[1]), currentSetDeg: Number(match[2]) };
}

const TOPICS = ['endurance', 'range', 'energy', 'best-speed', 'stopping', 'all'] as const;

function answerLine(label: string, { value, uncertainty95, unit, source }: BoatAnswer): string {
  const worth = Number.isNaN(uncertainty95) ? ' ± not stated' : uncertainty95 === 0 ? '' : ` ± ${figures(uncertainty95)}`;
  return `  ${label.padEnd(30)}${figures(value)}${worth} ${unit}${source === 'default' ? '  (DEFAULT)' : ''}`;
}

function replyText(reply: BoatReply, topic: (typeof TOPICS)[number]): string[] {
  if (!reply.can) return [`No: ${reply.why}.`];
  const { answers, notes } = reply;
  const wanted = (one: (typeof TOPICS)[number]): boolean => topic === 'all' || topic === one;
  return [
    answerLine('Speed over the ground', answers.groundSpeed),
    ...(Math.abs(answers.crabDeg) >= 0.05 ? [`  ${'Steer'.padEnd(30)}${Math.abs(answers.crabDeg).toFixed(1)}° to ${answers.crabDeg > 0 ? 'starboard' : 'port'} of the course`] : []),
    ...(wanted('endurance') || wanted('energy') ? [answerLine('Power', answers.power)] : []),
    ...(wanted('endurance') || wanted('range') ? [answerLine('Endurance', answers.endurance), answerLine('Range over the ground', answers.range)] : []),
    ...(wanted('energy') ? [answerLine('Energy', answers.energyPerKm)] : []),
    ...(wanted('best-speed') || wanted('range') ? [answerLine('Best speed through the water', answers.bestSpeed), answerLine('Range at that speed', answers.rangeAtBest)] : []),
    ...(wanted('stopping') ? [answerLine('Way to rest, full astern', answers.stopAstern), answerLine('Way coasting to a tenth', answers.coastTo10)] : []),
    ...notes.map((note) => `  ! ${note}`),
  ];
}

function ask(card: BoatCard, given: CommandArguments, topic: string): { reply: BoatReply; topic: (typeof TOPICS)[number] } {
  const known = TOPICS.find((one) => one === topic);
  if (known === undefined) throw new UseError(`--ask: expected ${TOPICS.join(', ')}, found ${JSON.stringify(topic)}`);
  const speedMps = numberOption(given, 'speed');
  if (speedMps === undefined) throw new UseError('--ask: at which speed through the water? Add --speed MPS');
  const reply = askCard(card, { speedMps, courseDeg: numberOption(given, 'course') ?? 0, ...currentOption(textOption(given, 'current')), reserveShare: (numberOption(given, 'reserve') ?? 20) / 100 });
  return { reply, topic: known };
}

export const verbTrials: Command = {
  verb: 'trials',
  summary: 'Show the boat card, and ask it what the boat can do at a speed in a current.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    ask: { type: 'string', value: 'WHAT', help: `${TOPICS.join(', ')}; exit code 1 where the boat cannot do it` },
    speed: { type: 'string', value: 'MPS', help: 'through the water [m/s]' },
    course: { type: 'string', value: 'DEG', help: 'over the ground, degrees true; 0 when left out' },
    current: { type: 'string', value: 'MPS@DEG', help: 'speed, and the direction it sets towards; none when left out' },
    reserve: { type: 'string', value: 'PERCENT', help: 'of the battery kept for coming home; 20 when left out' },
    set: SET_OPTION,
  },
  example: 'tallow trials inlet --ask endurance --speed 1.5 --current 0.4@210 --course 30',
  async run(given, terminal) {
    const folder = given.positionals[0] as string;
    const desk = await openDesk(folder);
    await applySettings(desk, given);
    const { summary } = await desk.build(terminal.context, 'boat');
    const card = cardOf(summary.settings);
    const topic = textOption(given, 'ask');
    if (topic === undefined) return { text: cardText(card), json: { verb: 'trials', folder, card } };
    const asked = ask(card, given, topic);
    return { text: replyText(asked.reply, asked.topic), json: { verb: 'trials', folder, reply: asked.reply }, exitCode: asked.reply.can ? 0 : 1 };
  },
};
