import { UseError } from '../base/errors.js';
import { formatArea, formatCounted, formatDuration, formatLength, formatMetres, formatPosition, formatShare } from '../report/figures.js';
import { describeEntry } from '../survey/describe-entry.js';
import { findName, findSize, readFinds, type FindsFile } from '../survey/finds-file.js';
import { openDesk } from '../survey/open-desk.js';
import type { FindDecision, SurveySummary } from '../survey/summary.js';
import type { Command, CommandArguments, CommandResult } from './command.js';
import { SET_OPTION, applySettings, numberOption, textOption } from './settings-options.js';
import { buildText, notesText } from './text.js';

const SHOWN = 30;

/** The id of the find that a user names: by the number in the list, or by its id or that of one of its sightings. */
function idOf(named: string, file: FindsFile | null): string {
  const found = file?.finds.find(({ id, number, sightings }) => id === named || String(number) === named || sightings.includes(named));
  if (found === undefined) {
    throw new UseError(`there is no find ${JSON.stringify(named)}: expected ${file === null || file.finds.length === 0 ? 'finds, and there are none yet' : 'a number as the list shows them, or an id'}`, { path: 'finds', found: named });
  }
  return found.id;
}

/** What the options decide, in the order of the list of options. */
function decisions(given: CommandArguments, file: FindsFile | null): FindDecision[] {
  const note = textOption(given, 'note');
  const withNote = note === undefined ? {} : { note };
  const each = (option: string): string[] => (textOption(given, option) ?? '').split(',').map((one) => one.trim()).filter((one) => one !== '').map((one) => idOf(one, file));
  const acts: FindDecision[] = [];
  for (const action of ['confirm', 'reject', 'propose'] as const) acts.push(...each(action).map((find): FindDecision => ({ kind: 'find', action, find, ...withNote })));
  const described = textOption(given, 'describe');
  const name = textOption(given, 'name');
  const description = textOption(given, 'as');
  if (described !== undefined) {
    if (name === undefined && description === undefined) throw new UseError('--describe: what is it? Give --name NAME, --as TEXT, or both', { path: '--describe' });
    acts.push({ kind: 'find', action: 'describe', find: idOf(described, file), ...(name === undefined ? {} : { name }), ...(description === undefined ? {} : { description }) });
  } else if (name !== undefined || description !== undefined) throw new UseError('--name and --as say something of a find: give --describe NUMBER too', { path: '--describe' });
  const joined = each('join');
  if (joined.length === 1) throw new UseError('--join: expected two finds or more, parted by commas', { path: '--join' });
  if (joined.length > 1) acts.push({ kind: 'find', action: 'join', finds: joined, ...withNote });
  const parted = textOption(given, 'part');
  if (parted !== undefined) {
    const sightings = parted.split(',').map((one) => one.trim()).filter((one) => one !== '');
    const find = file?.finds.find((one) => one.sightings.includes(sightings[0] ?? ''));
    const other = sightings.find((one) => find?.sightings.includes(one) !== true);
    if (find === undefined || other !== undefined) throw new UseError(`--part: expected ids of sightings of one find, as derived/finds/finds.json has them; found ${JSON.stringify(other ?? parted)}`, { path: '--part' });
    if (sightings.length >= find.sightings.length) throw new UseError(`--part: that is all of find ${find.number}: leave one sighting at least`, { path: '--part' });
    acts.push({ kind: 'find', action: 'part', find: find.id, sightings, ...withNote });
  }
  return acts;
}

/** The finds a decision is on, as the list named them before it. */
function namedBy(act: FindDecision, file: FindsFile | null): string {
  const ids = act.action === 'mark' ? [] : act.action === 'join' ? act.finds : [act.find];
  const numbers = ids.flatMap((id) => file?.finds.find((find) => find.id === id || find.sightings.includes(id))?.number ?? []);
  return numbers.length === 0 ? 'find' : `${numbers.length === 1 ? 'find' : 'finds'} ${numbers.join(', ')}`;
}

function listText(file: FindsFile | null): string[] {
  if (file === null) return [];
  return [
    ...file.finds.slice(0, SHOWN).map((find) => {
      const { major95M, size } = findSize(find);
      return `  ${String(find.number).padStart(3)}  ${find.state.padEnd(9)} ${formatShare(find.confidence, 0).padStart(9)}  ${formatPosition(find.latDeg, find.lonDeg)} ± ${formatMetres(major95M, 1)}  ${size}  ${formatCounted(find.passes, 'look')}${find.name === '' ? '' : `  ${findName(find)}`}`;
    }),
    ...(file.finds.length > SHOWN ? [`  and ${file.finds.length - SHOWN} more in derived/finds/finds.json`] : []),
  ];
}

/** What the search came to. */
export function searchText({ search }: SurveySummary): string[] {
  if (search === null || search === undefined) return [];
  const { next } = search;
  return [
    `Search for objects of ${formatMetres(search.objectM, 1)}:`,
    `  Looked at     ${formatShare(search.areaM2 === 0 ? 0 : search.searchedM2 / search.areaM2)} of ${formatArea(search.areaM2)}`,
    `  Found         one that is there with a chance of ${formatShare(search.chanceMean)} on average`,
    `  May remain    ${search.expectedLeft.toPrecision(2)} expected of ${search.expectedBefore.toPrecision(2)} before the search; at least one with a chance of ${formatShare(search.chanceLeft)}`,
    `  Looks         ${search.looks}`,
    `  Curve         ${search.curveSource}`,
    ...(next === null || next.lines === 0 ? [] : [`  Next          ${formatCounted(next.lines, 'line')}, ${formatLength(next.lengthM)}, ${formatDuration(next.timeS)}, ${next.energyWh.toFixed(0)} of ${next.budgetWh.toFixed(0)} Wh: the chance rises to ${formatShare(next.chanceAfter)} (derived/finds/next-lines.geojson)`]),
    ...search.notes.map((note) => `  - ${note}`),
  ];
}

export const verbFinds: Command = {
  verb: 'finds',
  summary: 'Find things on the bottom in the side-scan pictures, decide on them, and see what may have been missed.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    object: { type: 'string', value: 'METRES', help: 'size on the floor of what is looked for' },
    height: { type: 'string', value: 'METRES', help: 'how far it stands up from the floor' },
    'false-per-ha': { type: 'string', value: 'NUMBER', help: 'candidates that the floor alone may give in a hectare' },
    confirm: { type: 'string', value: 'LIST', help: 'finds to confirm, by number or id, parted by commas' },
    reject: { type: 'string', value: 'LIST', help: 'finds to reject' },
    propose: { type: 'string', value: 'LIST', help: 'finds to put back among the proposed' },
    describe: { type: 'string', value: 'FIND', help: 'a find to say something of, with --name and --as' },
    name: { type: 'string', value: 'NAME', help: 'its name' },
    as: { type: 'string', value: 'TEXT', help: 'what it is' },
    join: { type: 'string', value: 'LIST', help: 'finds that are one thing' },
    part: { type: 'string', value: 'LIST', help: 'sightings, by id, that are something else than the rest of their find' },
    note: { type: 'string', value: 'TEXT', help: 'why, kept with the decision' },
    set: SET_OPTION,
  },
  example: 'tallow finds inlet --object 0.6\ntallow finds inlet --confirm 1,2 --describe 1 --name "mooring block"',
  async run(given, terminal): Promise<CommandResult> {
    const folder = given.positionals[0] as string;
    const desk = await openDesk(folder);
    await applySettings(desk, given, { 'finds.objectM': numberOption(given, 'object'), 'finds.objectHeightM': numberOption(given, 'height'), 'finds.falsePerHa': numberOption(given, 'false-per-ha') });
    // Numbers are those of the list as it was shown.
    const before = await readFinds(folder);
    const acts = decisions(given, before);
    const decided: string[] = [];
    for (const act of acts) decided.push(describeEntry(await desk.decide(act)).replace(/^find:/, `${namedBy(act, before)}:`));
    const found = await desk.build(terminal.context, 'finds');
    const { summary, ran: searched, fresh: stood } = await desk.build(terminal.context, 'search');
    const ran = [...found.ran, ...searched];
    const fresh = [...new Set([...found.fresh, ...stood])].filter((step) => !ran.some((one) => one.step === step));
    const file = await readFinds(folder);
    const { finds } = summary;
    const head =
      finds === null || finds === undefined
        ? ['Finds           none: there is no side-scan log', `Next: tallow take-in ${folder} <side-scan log>`]
        : [
            `${formatCounted(finds.confirmed + finds.proposed, 'find')}: ${finds.confirmed} confirmed, ${finds.proposed} proposed; ${finds.rejected} rejected. From ${formatCounted(finds.sightings, 'sighting')}, ${formatArea(finds.lookedM2)} looked over.`,
            ...listText(file),
            ...finds.notes.map((note) => `  - ${note}`),
          ];
    return {
      text: [...decided.map((words) => `Decided: ${words}`), ...head, ...searchText(summary), ...notesText(summary), ...buildText({ summary, ran, fresh }), ...(finds ? ['Lifting or disturbing anything is for licensed people, under local rules; wrecks and habitat may be protected.'] : [])],
      json: { verb: 'finds', folder, finds, search: summary.search, list: file?.finds ?? [], decided: acts, notes: summary.notes, ran, fresh },
    };
  },
};
