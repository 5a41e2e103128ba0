import path from 'node:path';
import { askCard, type BoatReply } from '../boat/ask-card.js';
import type { BoatCard } from '../boat/boat-card.js';
import { UseError } from '../base/errors.js';
import { columnNotes } from '../survey/csv-columns.js';
import { openDesk, type FullDesk } from '../survey/open-desk.js';
import { makeTrialPlan } from '../survey/make-trial-plan.js';
import { readCard, readTrials } from '../survey/step-boat.js';
import type { Command, CommandArguments, Terminal } from './command.js';
import { SET_OPTION, applySettings, numberOption, textOption } from './settings-options.js';
import { takeInText } from './text.js';
import { TOPICS, cardText, planText, replyText, trialsText, type Topic } from './trials-text.js';
import { windowChanges } from './trial-windows.js';

/** `0.4@210`: a current of 0.4 m/s that sets towards 210 degrees true. */
function currentOption(text: string | undefined): { currentMps: number; currentSetDeg: number } {
  if (text === undefined) return { currentMps: 0, currentSetDeg: 0 };
  const match = /^(\d+(?:\.\d+)?)@(-?\d+(?:\.\d+)?)$/.exec(text.trim());
  if (match === null) throw new UseError(`--current: expected SPEED@DIRECTION, m/s and degrees true that it sets towards, found ${JSON.stringify(text)}; for example --current 0.4@210`);
  return { currentMps: Number(match[1]), currentSetDeg: Number(match[2]) };
}

function ask(card: BoatCard, given: CommandArguments, topic: string): { reply: BoatReply; topic: Topic } {
  const known = TOPICS.find((one) => one === topic);
  if (known === undefined) throw new UseError(`--ask: expected ${TOPICS.join(', ')}, found ${JSON.stringify(topic)}`);
  // The best speed is looked for over all of them: top speed stands where none is asked about.
  const speedMps = numberOption(given, 'speed') ?? (known === 'best-speed' && card.figures.topSpeed !== null ? card.figures.topSpeed.value : undefined);
  if (speedMps === undefined) throw new UseError(`--ask ${known}: at which speed through the water? Add --speed MPS`);
  const reply = askCard(card, { speedMps, courseDeg: numberOption(given, 'course') ?? 0, ...currentOption(textOption(given, 'current')), reserveShare: (numberOption(given, 'reserve') ?? 20) / 100 });
  return { reply, topic: known };
}

/** Takes logs in, their columns corrected, and sees to it that they count as trials. */
async function takeInTrials(desk: FullDesk, files: readonly string[], corrections: readonly string[], terminal: Terminal): Promise<string[]> {
  const results = await desk.takeInWith(files, corrections, terminal.context);
  const refused = results.filter(({ outcome }) => outcome === 'refused');
  if (refused.length === results.length) throw new UseError(refused[0]!.because, { path: refused[0]!.name });
  const { summary } = await desk.build(terminal.context, 'boat');
  const counted = new Set(summary.boat?.trials?.logs ?? []);
  // One that was there already is named in `log` as well.
  const named = results.flatMap(({ log, outcome, name }) => (log !== null ? [log.file] : outcome === 'already-there' ? summary.logs.filter(({ file }) => file === path.basename(name)).map(({ file }) => file) : []));
  const uncounted = named.filter((file) => !counted.has(file));
  if (uncounted.length > 0) await desk.set('boat.trialLogs', [...counted, ...uncounted]);
  return takeInText(results);
}

/** The logs of trials that are there already and hold columns, for a correction without a file beside it. @throws UseError where there are none */
async function trialColumnLogs(folder: string, desk: FullDesk): Promise<string[]> {
  const { logs } = await desk.summary();
  const trials = new Set((await readTrials(folder))?.logs ?? []);
  const files = logs.filter(({ file, kind }) => trials.has(file) && kind === 'csv').map(({ file }) => path.join(folder, 'logs', file));
  if (files.length === 0) throw new UseError('--column: there is no log of trials with columns (CSV) yet; give it beside: tallow trials FOLDER LOG --column NAME=QUANTITY', { path: '--column' });
  return files;
}

/** What of the columns of the logs of trials is not read, or read on an assumption. */
async function columnLines(folder: string, desk: FullDesk): Promise<string[]> {
  const files = await trialColumnLogs(folder, desk).catch(() => []);
  const shown = await desk.showColumns(files, []);
  return shown.flatMap((each) => columnNotes(each)).map((note) => `  ! ${note}`);
}

export const verbTrials: Command = {
  verb: 'trials',
  summary: 'Make the boat card from logs of sea trials, show it, and ask it what the boat can do.',
  usage: '<survey folder> [log ...]',
  minPositionals: 1,
  maxPositionals: Infinity,
  options: {
    list: { type: 'boolean', help: 'name every trial that was found, with its window' },
    move: { type: 'strings', value: 'TRIAL=START/END', help: 'correct the window of a trial; UTC, e.g. spin@1781685123=13:05:10/13:05:40' },
    add: { type: 'strings', value: 'KIND=START/END', help: 'add a trial that was not found, e.g. coast-down=13:05:10/13:05:40' },
    drop: { type: 'strings', value: 'TRIAL', help: 'leave a trial out; tallow journal FOLDER --undo brings it back' },
    column: { type: 'strings', value: 'NAME=QUANTITY', help: 'what a CSV column holds where the guess is wrong, e.g. "log=speedThroughWater kn"; also of logs taken in before' },
    plan: { type: 'boolean', help: 'lay out the trials that give what the card lacks in the survey area: a sheet to print, and lines for the chart' },
    everything: { type: 'boolean', help: 'with --plan: all trials, also of figures that are good enough' },
    ask: { type: 'string', value: 'WHAT', help: `${TOPICS.join(', ')}; exit code 1 where the boat cannot do it` },
    speed: { type: 'string', value: 'MPS', help: 'through the water [m/s]' },
    course: { type: 'string', value: 'DEG', help: 'over the ground, degrees true; 0 when left out' },
    current: { type: 'string', value: 'MPS@DEG', help: 'speed, and the direction it sets towards; none when left out' },
    reserve: { type: 'string', value: 'PERCENT', help: 'of the battery kept for coming home; 20 when left out' },
    set: SET_OPTION,
  },
  example: 'tallow trials inlet trials.log\ntallow trials inlet --ask endurance --speed 1.5 --current 0.4@210 --course 30',
  async run(given, terminal) {
    const [folder, ...files] = given.positionals as [string, ...string[]];
    const desk = await openDesk(folder);
    await applySettings(desk, given);
    const corrections = (given.options['column'] as readonly string[] | undefined) ?? [];
    const named = files.length > 0 || corrections.length === 0 ? files : await trialColumnLogs(folder, desk);
    const took = named.length > 0 ? await takeInTrials(desk, named, corrections, terminal) : [];
    await desk.build(terminal.context, 'boat');
    const changes = windowChanges(given, await readTrials(folder));
    for (const change of changes) await desk.decide(change);
    if (changes.length > 0) await desk.build(terminal.context, 'boat');
    if (given.options['plan'] === true) {
      const { plan, files: written } = await makeTrialPlan(folder, (await desk.summary()).settings, given.options['everything'] === true, terminal.context);
      return { text: [...took, ...planText(plan), `Written: ${written.join(', ')}`], json: { verb: 'trials', folder, plan, files: written } };
    }
    const card = await readCard(folder);
    const topic = textOption(given, 'ask');
    if (topic !== undefined) {
      const asked = ask(card, given, topic);
      return { text: [...took, ...replyText(asked.reply, asked.topic, numberOption(given, 'speed') !== undefined)], json: { verb: 'trials', folder, reply: asked.reply }, exitCode: asked.reply.can ? 0 : 1 };
    }
    const trials = await readTrials(folder);
    const list = given.options['list'] === true;
    return { text: [...took, ...trialsText(trials, list), ...(await columnLines(folder, desk)), ...(list ? [] : cardText(card))], json: { verb: 'trials', folder, card, trials } };
  },
};
