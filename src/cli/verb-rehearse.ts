import { UseError } from '../base/errors.js';
import { formatUtc } from '../base/time.js';
import { openDesk } from '../survey/open-desk.js';
import { findStart } from '../survey/find-start.js';
import { userTime } from '../survey/user-time.js';
import type { SurveySummary } from '../survey/summary.js';
import { readRehearsal } from '../survey/step-rehearsal.js';
import type { Command } from './command.js';
import { rehearsalText } from './rehearsal-text.js';
import { SET_OPTION, applySettings, textOption } from './settings-options.js';

/** What the wind does, so that one that does nothing is not overlooked. */
function windText({ rehearse: { wind, leewayShare } }: SurveySummary['settings']): string[] {
  if (wind === null || wind.speedMps === 0) return [];
  if (leewayShare === 0) return ['  ! the wind is not reckoned with: rehearse.leewayShare is 0; set the share of the wind\'s speed that the boat drifts with'];
  return [`  Wind            ${wind.speedMps} m/s from ${wind.fromDeg}°, drifts the boat with ${(wind.speedMps * leewayShare).toFixed(2)} m/s`];
}

export const verbRehearse: Command = {
  verb: 'rehearse',
  summary: 'Run the sorties in fast time against current, tide, daylight, battery and link: go or no-go, and the worst moment.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    start: { type: 'string', value: 'TIME', help: 'when the first sortie leaves, with its zone: 2026-06-17T08:00Z or 2026-06-17T09:00+01:00; kept in survey.json' },
    best: { type: 'string', value: 'FROM/TO', help: 'look for the best start between two times, keep it, and say its margin and why the others are not' },
    'lost-link': { type: 'string', value: 'WHAT', help: 'what the boat does when the link drops: carry-on, hold, straight-home, back-along-track, safe-lane' },
    legs: { type: 'boolean', help: 'say of every leg when it is run, how fast, the water under the boat and the current' },
    set: SET_OPTION,
  },
  example: 'tallow rehearse inlet --start 2026-06-17T08:00Z\ntallow rehearse inlet --best 2026-06-17T04:00Z/2026-06-19T22:00Z',
  async run(given, terminal) {
    const folder = given.positionals[0] as string;
    const desk = await openDesk(folder);
    // What --set says of the zone holds for the times beside it.
    await applySettings(desk, given, { 'rehearse.lostLink': textOption(given, 'lost-link') });
    const start = textOption(given, 'start');
    const leaves = start === undefined ? null : userTime(start, '--start', (await desk.summary()).settings.brief.utcOffsetH);
    if (leaves !== null) await desk.set('sortie.startUtc', formatUtc(leaves.timeS));
    const said = leaves?.said == null ? [] : [`  - ${leaves.said}`];
    const best = textOption(given, 'best');
    const looked = best === undefined ? null : await findStart(desk, best, terminal.context);
    if (looked !== null && looked.found.startS === null) return { text: looked.text, json: { verb: 'rehearse', folder, start: looked.found, rehearsal: null }, exitCode: 1 };
    const { summary } = await desk.build(terminal.context, 'rehearsal');
    if (summary.settings.sortie.launch === null) {
      throw new UseError(`${folder}: there is no launch point: say where the boat goes in, with tallow lines ${folder} --launch LAT,LON`, { fix: `tallow lines ${folder} --launch LAT,LON` });
    }
    if (summary.sorties?.fault != null) throw new UseError(summary.sorties.fault.message);
    const sorties = summary.sorties;
    if (sorties !== null && sorties.count === 0 && sorties.go === false) return { text: [...said, ...(looked?.text ?? []), `NO-GO: ${sorties.reason}`, ...sorties.notes.filter((note) => note !== sorties.reason).map((note) => `  - ${note}`)], json: { verb: 'rehearse', folder, start: looked?.found ?? null, rehearsal: null, sorties }, exitCode: 1 };
    if (sorties === null || sorties.count === 0) throw new UseError(`${folder}: there are no sorties: plan lines first, with tallow lines ${folder}`);
    const file = await readRehearsal(folder);
    if (file === null) throw new UseError(`${folder}: when does the first sortie leave? Add --start TIME, such as 2026-06-17T08:00Z, or --best FROM/TO to look for a good one`, { path: 'sortie.startUtc' });
    return {
      text: [...said, ...(looked?.text ?? []), ...(sorties.go === false ? [`NO-GO for the plan: ${sorties.reason}`] : []), ...rehearsalText(file, given.options['legs'] === true), ...windText(summary.settings)],
      json: { verb: 'rehearse', folder, start: looked?.found ?? null, rehearsal: file },
      exitCode: file.summary.go && sorties.go !== false ? 0 : 1,
    };
  },
};
