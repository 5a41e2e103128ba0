import { CARD_FIGURES, type BoatCard, type CardFigure, type CardFigureName } from '../boat/boat-card.js';
import type { BoatAnswer, BoatReply } from '../boat/ask-card.js';
import type { TrialPlan } from '../boat/trial-plan.js';
import type { Trial } from '../boat/trial-log.js';
import { formatUtc } from '../base/time.js';
import type { TrialsFile } from '../survey/step-boat.js';

const SOURCE = { trials: 'trials', hand: 'by hand', default: 'DEFAULT' } as const;
const WIDTH = 64;
/** Currents found by single circles beyond this many are counted, not told. */
const MOST_CURRENTS = 1;

/** What can be asked of the card. */
export const TOPICS = ['endurance', 'range', 'energy', 'best-speed', 'stopping', 'turning', 'all'] as const;
export type Topic = (typeof TOPICS)[number];

function number(value: number): string {
  const size = Math.abs(value);
  return size >= 100 ? value.toFixed(0) : size >= 10 ? value.toFixed(1) : size >= 0.1 || size === 0 ? value.toFixed(2) : value.toFixed(3);
}

/** To as many decimals as the uncertainty's two leading figures have. */
function withWorth(value: number, uncertainty95: number): string {
  if (Number.isNaN(uncertainty95)) return `${number(value)} ± not stated`;
  if (uncertainty95 <= 0) return number(value);
  const decimals = Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(uncertainty95))));
  return `${value.toFixed(decimals)} ± ${uncertainty95.toFixed(decimals)}`;
}

function valueText(figure: CardFigure): string {
  return `${withWorth(figure.value, figure.uncertainty95)}${figure.unit === '1' ? '' : ` ${figure.unit}`}`;
}

function sourceText(figure: CardFigure): string {
  if (figure.source !== 'trials') return SOURCE[figure.source];
  const count = figure.trials.length;
  return count === 0 ? 'trials' : `${count} ${count === 1 ? 'trial' : 'trials'}`;
}

/** Trials by kind, and what became of them. */
export function trialsText(file: TrialsFile | null, list: boolean): string[] {
  if (file === null) return ['No log of trials: figures below are entered by hand or usual for the class. Give the log: tallow trials FOLDER LOG'];
  const kinds = new Map<string, number>();
  for (const { kind } of file.trials) kinds.set(kind, (kinds.get(kind) ?? 0) + 1);
  const counts = [...kinds].map(([kind, count]) => `${count} ${kind}`).join(', ');
  const hand = file.trials.filter(({ by }) => by === 'hand').length;
  return [
    `Trials in ${file.logs.join(', ')}: ${file.trials.length === 0 ? 'none found' : counts}${hand > 0 ? `; ${hand} with a window drawn by hand` : ''}${file.dropped.length > 0 ? `; ${file.dropped.length} dropped` : ''}`,
    ...file.notes.map((note) => `  ! ${note}`),
    ...(list && file.trials.length + file.dropped.length > 0 ? trialTable(file) : []),
  ];
}

const LIST_HEAD = ['trial', 'from', 'to', 'lasts', 'm/s', 'course', 'command', ''] as const;

/** Every trial with its window, under heads. */
function trialTable(file: TrialsFile): string[] {
  const row = ({ id, startS, endS, courseDeg, speedMps, commandPct, by }: Trial, note: string): string[] => [
    id,
    formatUtc(startS).slice(11, 19),
    formatUtc(endS).slice(11, 19),
    `${(endS - startS).toFixed(0)} s`,
    speedMps.toFixed(2),
    Number.isNaN(courseDeg) ? '-' : `${courseDeg.toFixed(0)}°`,
    Number.isNaN(commandPct) ? '-' : `${commandPct.toFixed(0)} %`,
    [by === 'hand' ? 'by hand' : '', note].filter((part) => part !== '').join(', '),
  ];
  const rows = [[...LIST_HEAD], ...file.trials.map((trial) => row(trial, '')), ...file.dropped.map((trial) => row(trial, 'DROPPED'))];
  const widths = LIST_HEAD.map((_, k) => Math.max(...rows.map((cells) => cells[k]!.length)));
  const days = [...new Set(file.trials.map(({ startS }) => formatUtc(startS).slice(0, 10)))];
  return [
    ...(days.length === 0 ? [] : [`  UTC, ${days.join(', ')}; speed over the ground, course true`]),
    ...rows.map((cells) => `  ${cells.map((cell, k) => (k === 0 || k === 7 ? cell.padEnd(widths[k]!) : cell.padStart(widths[k]!))).join('  ')}`.trimEnd()),
  ];
}

/** A figure as the card calls it, without its unit. */
function figureName(figure: string): string {
  return CARD_FIGURES[figure as CardFigureName]?.label ?? figure;
}

/** What was refused; one line for all trials refused for the same reason. */
function refusedText(card: BoatCard): string[] {
  const groups = new Map<string, string[]>();
  for (const { what, why } of card.refused) {
    const trial = / ?,? ?([a-z-]+@-?\d+)$/.exec(what);
    const key = `${trial === null ? what : what.slice(0, trial.index)}\n${why}`;
    const ids = groups.get(key) ?? [];
    if (trial !== null) ids.push(trial[1]!);
    groups.set(key, ids);
  }
  return [...groups].map(([key, ids]) => {
    const [what, why] = key.split('\n') as [string, string];
    const who = ids.length === 0 ? '' : ids.length <= 3 ? ids.join(', ') : `${ids.slice(0, 2).join(', ')} and ${ids.length - 2} more`;
    return `  ! ${what}${what !== '' && who !== '' ? ', ' : ''}${who}: ${why}`;
  });
}

/** The card in figures. */
export function cardText(card: BoatCard): string[] {
  const names = Object.keys(CARD_FIGURES) as CardFigureName[];
  const row = (label: string, figure: CardFigure): string => `  ${label.padEnd(WIDTH)}${valueText(figure).padEnd(24)}  (${sourceText(figure)})${figure.note === '' ? '' : `; ${figure.note}`}`;
  const known = names.flatMap((name) => (card.figures[name] === null ? [] : [card.figures[name]]));
  const defaults = known.filter((figure) => figure.source === 'default').length;
  return [
    `Boat card${card.name === '' ? '' : ` of ${card.name}`}: ${card.lengthM} m, ${card.massKg} kg; 95 % beside each figure`,
    ...names.flatMap((name) => (card.figures[name] === null ? [] : [row(CARD_FIGURES[name].label, card.figures[name])])),
    ...(card.commandToSpeed.length > 0 ? ['  Speed through the water by command:', ...card.commandToSpeed.map((point) => row(`  ${point.commandPct.toFixed(0)} %`, point))] : []),
    ...(card.speedToPower.length > 0 ? ['  Power by speed:', ...card.speedToPower.map((point) => row(`  ${point.atSpeedMps.toFixed(2)} m/s`, point))] : []),
    ...card.turning.flatMap((turn) => [
      `  Turning to ${turn.side} from ${turn.atSpeedMps.toFixed(2)} m/s:`,
      row('  advance', turn.advanceM),
      row('  transfer', turn.transferM),
      row('  tactical diameter', turn.tacticalDiameterM),
      row('  steady diameter', turn.steadyDiameterM),
      row('  time to 90, 180, 360 degrees', { ...turn.timeTo90S, value: turn.timeTo90S.value }),
      `  ${''.padEnd(WIDTH)}${valueText(turn.timeTo180S)}, ${valueText(turn.timeTo360S)}`,
      row('  speed kept', turn.speedKept),
    ]),
    ...card.currents.slice(0, MOST_CURRENTS).map(({ setDeg, driftMps, startS, endS }) => `  Current ${formatUtc(startS).slice(11, 16)} to ${formatUtc(endS).slice(11, 16)}: ${valueText(driftMps)} towards ${valueText(setDeg)}`),
    ...(card.currents.length > MOST_CURRENTS ? [`  and ${card.currents.length - MOST_CURRENTS} from single turns, in boat/card.json`] : []),
    ...(defaults > 0 ? [`  ! ${defaults} of ${known.length} figures are DEFAULTS usual for the class, not measured on this boat.`] : []),
    ...refusedText(card),
    ...(card.missing.length > 0 ? ['  Missing or default, and the trial that would give it:'] : []),
    ...[...new Set(card.missing.map(({ trial }) => trial))].map((trial) => `    - ${trial}: ${card.missing.filter((one) => one.trial === trial).map(({ figure }) => figureName(figure)).join(', ')}`),
  ];
}

function answerLine(label: string, { value, uncertainty95, unit, source }: BoatAnswer): string {
  return `  ${label.padEnd(34)}${withWorth(value, uncertainty95)} ${unit}${source === 'default' ? '  (DEFAULT)' : ''}`;
}

/** What the card answers. @param asksSpeed whether a speed was asked about; the best speed needs none */
export function replyText(reply: BoatReply, topic: Topic, asksSpeed = true): string[] {
  if (!reply.can) return [`No: ${reply.why}.`];
  const { answers, notes } = reply;
  const wanted = (...topics: Topic[]): boolean => topic === 'all' || topics.includes(topic);
  return [
    ...(asksSpeed ? [answerLine('Speed over the ground', answers.groundSpeed)] : []),
    ...(asksSpeed && Math.abs(answers.crabDeg) >= 0.05 ? [`  ${'Steer'.padEnd(34)}${Math.abs(answers.crabDeg).toFixed(1)}° to ${answers.crabDeg > 0 ? 'starboard' : 'port'} of the course`] : []),
    ...(wanted('endurance', 'energy') ? [answerLine('Power', answers.power)] : []),
    ...(wanted('endurance', 'range') ? [answerLine('Endurance', answers.endurance), answerLine('Range over the ground', answers.range)] : []),
    ...(wanted('energy') ? [answerLine('Energy', answers.energyPerKm)] : []),
    ...(wanted('best-speed', 'range') ? [answerLine('Best speed through the water', answers.bestSpeed), answerLine('Range at that speed', answers.rangeAtBest)] : []),
    ...(wanted('stopping') ? [answerLine('Way to rest, full astern', answers.stopAstern), answerLine('Way coasting to a tenth', answers.coastTo10)] : []),
    ...(wanted('turning') ? turnText(answers.tightestTurn) : []),
    ...notes.map((note) => `  ! ${note}`),
  ];
}

function turnText(turn: NonNullable<Extract<BoatReply, { can: true }>['answers']['tightestTurn']> | null): string[] {
  if (turn === null) return [`  ${'Tightest turn'.padEnd(34)}not known: no turning circle was made`];
  return [`${answerLine('Tightest turn, tactical diameter', turn)} to ${turn.side}`, ...(turn.note === '' ? [] : [`  ! ${turn.note}`])];
}

/** Trials as planned, in the order to run them. */
export function planText(plan: TrialPlan): string[] {
  const minutes = (seconds: number): string => `${Math.round(seconds / 60)} min`;
  return [
    plan.trials.length === 0 ? 'No trial is needed.' : `${plan.trials.length} trials, about ${minutes(plan.timeS)} and ${plan.energyWh.toFixed(0)} Wh${plan.dischargeS > 0 ? `, and a discharge of ${(plan.dischargeS / 3600).toFixed(1)} h` : ''}`,
    ...plan.trials.map((trial) => {
      const heading = Number.isNaN(trial.headingDeg) ? '' : `, ${String(Math.round(trial.headingDeg) % 360).padStart(3, '0')}°${trial.reciprocal ? ' and back' : ''}`;
      const length = trial.lengthM > 0 ? `, ${trial.lengthM.toFixed(0)} m` : '';
      const often = trial.kind === 'discharge' ? `about ${(trial.durationS / 3600).toFixed(0)} h in all, over as many days as it takes` : `${trial.passes} ${trial.passes === 1 ? 'time' : 'times'}`;
      return `  ${String(trial.number).padStart(2)} ${trial.title}: ${trial.command}${heading}${length}, ${often}; gives ${trial.why}`;
    }),
    ...plan.shortfalls.map(({ what, why, remedy }) => `  ! ${what}: ${why}; ${remedy}`),
    ...plan.notes.map((note) => `  - ${note}`),
  ];
}
