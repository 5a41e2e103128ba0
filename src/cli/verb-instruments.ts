import { UseError } from '../base/errors.js';
import { parseUtc } from '../base/time.js';
import { CHECK_NAMES, CHECK_TITLES, type CheckName, type InstrumentCheck } from '../survey/instrument-checks.js';
import { openDesk, type FullDesk } from '../survey/open-desk.js';
import { readInstrumentChecks } from '../survey/step-instruments.js';
import { takeBarFile } from '../survey/take-bar.js';
import type { Command, CommandArguments } from './command.js';
import { placeOption } from './places.js';
import { SET_OPTION, applySettings, numberOption, textOption } from './settings-options.js';

function checkName(text: string, option: string): CheckName {
  const known = CHECK_NAMES.find((name) => name === text);
  if (known === undefined) throw new UseError(`--${option}: expected ${CHECK_NAMES.join(', ')}, found ${JSON.stringify(text)}`, { path: `--${option}` });
  return known;
}

function texts(given: CommandArguments, name: string): readonly string[] {
  const value = given.options[name];
  return Array.isArray(value) ? (value as readonly string[]) : [];
}

/** `46.1,-30.2=2026-06-17T08:00:00Z/2026-06-17T08:10:00Z`: a mark, and when the antenna stood on it. */
async function takeMark(desk: FullDesk, text: string, sigmaM: number): Promise<string> {
  const [place = '', span = ''] = text.split('=');
  const [startUtc = '', endUtc = ''] = span.split('/');
  const [startS, endS] = [parseUtc(startUtc), parseUtc(endUtc)];
  if (!(endS > startS)) throw new UseError(`--mark: expected LAT,LON=START/END with times in UTC, the end after the start, found ${JSON.stringify(text)}; for example --mark 46.01,-30.02=2026-06-17T08:00:00Z/2026-06-17T08:10:00Z`, { path: '--mark' });
  const { latDeg, lonDeg } = placeOption(place, 'mark')!;
  const held = (await desk.summary()).settings.instruments.marks;
  await desk.setTogether([{ path: 'instruments.marks', value: [...held.filter((one) => one.startUtc !== startUtc), { latDeg, lonDeg, sigmaM, startUtc, endUtc }].sort((a, b) => parseUtc(a.startUtc) - parseUtc(b.startUtc)) }], `stay on a known mark from ${startUtc}`);
  return 'Static check: the mark and its time are noted.';
}

const STATE: Readonly<Record<InstrumentCheck['state'], string>> = { 'not-done': 'not done', unusable: 'cannot be used', refused: 'not used', agrees: 'agrees with the settings', differs: 'differs from the settings' };

function checkText(check: InstrumentCheck): string[] {
  return [`${check.title}: ${STATE[check.state]}`, `  ${check.words}`, ...check.proposals.map(({ words }) => `    ${words}`), ...check.notes.map((note) => `  ! ${note}`)];
}

export const verbInstruments: Command = {
  verb: 'instruments',
  summary: 'Check the instruments: bar check, known mark, heading and latency on lines run both ways; use what they find, or refuse it.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    bar: { type: 'string', value: 'FILE', help: 'readings of a bar check: CSV with columns barM and readM, and timeUtc where there were several' },
    from: { type: 'string', value: 'POINT', help: 'where those readings count from: transducer (when left out) or surface, the draft setting added' },
    'bar-sigma': { type: 'string', value: 'METRES', help: 'one sigma of a plate\'s depth; 0.02 when left out' },
    mark: { type: 'strings', value: 'LAT,LON=START/END', help: 'a known mark and when the antenna stood on it, UTC' },
    'mark-sigma': { type: 'string', value: 'METRES', help: 'one sigma of the mark; 0.02 when left out' },
    apply: { type: 'strings', value: 'CHECK', help: `use what a check found: ${CHECK_NAMES.join(', ')}; tallow journal FOLDER --undo takes it back` },
    refuse: { type: 'strings', value: 'CHECK=REASON', help: 'do not use what a check found' },
    reopen: { type: 'strings', value: 'CHECK', help: 'take a refusal back' },
    sheet: { type: 'boolean', help: 'write a sheet to fill in on the day: products/instrument-checks.pdf' },
    set: SET_OPTION,
  },
  example: 'tallow instruments inlet --bar bar.csv\ntallow instruments inlet --apply bar',
  async run(given, terminal) {
    const folder = given.positionals[0] as string;
    const desk = await openDesk(folder);
    await applySettings(desk, given);
    const said: string[] = [];
    const toApply = texts(given, 'apply').map((text) => checkName(text, 'apply'));
    const bar = textOption(given, 'bar');
    if (bar !== undefined) said.push(await takeBarFile(desk, bar, textOption(given, 'from') ?? 'transducer', numberOption(given, 'bar-sigma') ?? 0.02));
    for (const mark of texts(given, 'mark')) said.push(await takeMark(desk, mark, numberOption(given, 'mark-sigma') ?? 0.02));
    for (const text of texts(given, 'refuse')) {
      const at = text.indexOf('=');
      const because = at < 0 ? '' : text.slice(at + 1).trim();
      if (because === '') throw new UseError(`--refuse: expected CHECK=REASON, found ${JSON.stringify(text)}; say why, for example --refuse bar="the plate swung in the current"`, { path: '--refuse' });
      const name = checkName(text.slice(0, at), 'refuse');
      await desk.setTogether([{ path: 'instruments.refused', value: { ...(await desk.summary()).settings.instruments.refused, [name]: because } }], `${CHECK_TITLES[name]} not used: ${because}`);
    }
    for (const text of texts(given, 'reopen')) {
      const again = checkName(text, 'reopen');
      const refused = Object.entries((await desk.summary()).settings.instruments.refused).filter(([name]) => name !== again);
      await desk.setTogether([{ path: 'instruments.refused', value: Object.fromEntries(refused) }], `${CHECK_TITLES[again]} looked at again`);
    }
    const files: string[] = [];
    if (given.options['sheet'] === true) files.push(await desk.instrumentSheet(terminal.context));
    const { logs } = await desk.summary();
    if (logs.length === 0 && files.length > 0) return { text: [...said, `Written: ${files.join(', ')}`], json: { verb: 'instruments', folder, checks: [], files } };
    await desk.build(terminal.context, 'instruments');
    let checks = (await readInstrumentChecks(folder)) ?? [];
    for (const name of toApply) {
      const check = checks.find((one) => one.check === name)!;
      if (check.state !== 'differs') {
        if (check.state === 'agrees') said.push(`${check.title}: the settings agree with it already; nothing is changed.`);
        else throw new UseError(`--apply ${check.check}: ${check.words}${check.state === 'refused' ? ` Take the refusal back with --reopen ${check.check}` : ''}`, { path: '--apply' });
      }
      if (check.proposals.length > 0) await desk.setTogether(check.proposals, `${check.title} applied`);
      for (const { words } of check.proposals) said.push(`Set: ${words.replace(/; (set|in use) now: /, '; before: ')}`);
      await desk.build(terminal.context, 'instruments');
      checks = (await readInstrumentChecks(folder)) ?? [];
    }
    return {
      text: [
        ...said,
        ...checks.flatMap(checkText),
        ...(files.length > 0 ? [`Written: ${files.join(', ')}`] : []),
        ...(checks.some(({ state }) => state === 'differs') ? [`Next: tallow instruments ${folder} --apply CHECK, or --refuse CHECK=REASON`] : [`Next: tallow depths ${folder}`]),
      ],
      json: { verb: 'instruments', folder, checks, files },
      exitCode: checks.some(({ state }) => state === 'differs' || state === 'unusable') ? 1 : 0,
    };
  },
};
