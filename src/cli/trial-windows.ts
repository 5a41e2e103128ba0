import { UseError } from '../base/errors.js';
import { DAY_S, parseUtc } from '../base/time.js';
import { TRIAL_KINDS, type TrialKind } from '../boat/trial-log.js';
import type { TrialDecision } from '../survey/summary.js';
import type { TrialsFile } from '../survey/step-boat.js';
import type { CommandArguments } from './command.js';

function texts(given: CommandArguments, name: string): readonly string[] {
  const value = given.options[name];
  return Array.isArray(value) ? (value as readonly string[]) : [];
}

/** `13:05:10` on the day of the trials, or a full UTC time. */
function moment(text: string, file: TrialsFile, option: string): number {
  const clock = /^(\d{1,2}):(\d{2}):(\d{2}(?:\.\d+)?)Z?$/.exec(text.trim());
  if (clock === null) {
    const timeS = parseUtc(text.trim());
    if (!Number.isFinite(timeS)) throw new UseError(`${option}: expected a UTC time such as 13:05:10 or 2026-06-17T13:05:10Z, found ${JSON.stringify(text)}`);
    return timeS;
  }
  const secondOfDay = Number(clock[1]) * 3600 + Number(clock[2]) * 60 + Number(clock[3]);
  const firstS = file.trials[0]?.startS ?? file.dropped[0]?.startS;
  if (firstS === undefined) throw new UseError(`${option}: no trial was found, so the day is not known: give the date too, such as 2026-06-17T13:05:10Z`);
  return Math.floor(firstS / DAY_S) * DAY_S + secondOfDay;
}

function pair(text: string, option: string, example: string): [string, string] {
  const at = text.indexOf('=');
  if (at <= 0) throw new UseError(`${option}: expected ${example}, found ${JSON.stringify(text)}`);
  return [text.slice(0, at).trim(), text.slice(at + 1).trim()];
}

function span(text: string, file: TrialsFile, option: string): { startS: number; endS: number } {
  const [from, to, ...rest] = text.split('/');
  if (from === undefined || to === undefined || rest.length > 0) throw new UseError(`${option}: expected START/END, found ${JSON.stringify(text)}`);
  const startS = moment(from, file, option);
  const endS = moment(to, file, option);
  if (!(endS > startS)) throw new UseError(`${option}: ${text}: expected the end after the start`);
  return { startS, endS };
}

function kindOf(text: string, option: string): TrialKind {
  const kind = TRIAL_KINDS.find((one) => one === text);
  if (kind === undefined) throw new UseError(`${option}: expected ${TRIAL_KINDS.join(', ')}, found ${JSON.stringify(text)}`);
  return kind;
}

/** The changes to trials asked for by --move, --add and --drop. @throws UseError saying what was expected */
export function windowChanges(given: CommandArguments, file: TrialsFile | null): TrialDecision[] {
  const asked = ['move', 'add', 'drop'].filter((name) => texts(given, name).length > 0);
  if (asked.length === 0) return [];
  if (file === null) throw new UseError(`--${asked[0]}: there is no log of trials yet; give it: tallow trials FOLDER LOG`);
  const known = (id: string, option: string): TrialsFile['trials'][number] => {
    const trial = [...file.trials, ...file.dropped].find((one) => one.id === id);
    if (trial === undefined) throw new UseError(`${option}: there is no trial ${JSON.stringify(id)}; tallow trials FOLDER --list names them`);
    return trial;
  };
  return [
    ...texts(given, 'move').map((text): TrialDecision => {
      const [id, window] = pair(text, '--move', 'TRIAL=START/END');
      return { kind: 'trial', change: 'move', trial: id, trialKind: known(id, '--move').kind, ...span(window, file, '--move') };
    }),
    ...texts(given, 'add').map((text): TrialDecision => {
      const [name, window] = pair(text, '--add', 'KIND=START/END');
      const trialKind = kindOf(name, '--add');
      const { startS, endS } = span(window, file, '--add');
      return { kind: 'trial', change: 'add', trial: `${trialKind}@${Math.floor(startS)}`, trialKind, startS, endS };
    }),
    ...texts(given, 'drop').map((id): TrialDecision => {
      const { kind, startS, endS } = known(id, '--drop');
      return { kind: 'trial', change: 'drop', trial: id, trialKind: kind, startS, endS };
    }),
  ];
}
