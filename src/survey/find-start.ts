import { UseError } from '../base/errors.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { formatUtc } from '../base/time.js';
import { boatModel } from '../boat/boat-model.js';
import { currentSpan } from '../formats/current-file.js';
import { bestStart } from '../rehearse/best-start.js';
import { rehearsalSetting } from '../rehearse/ground.js';
import { spanText } from '../rehearse/moment-words.js';
import type { BestStart, StartLimit, StartMargin } from '../rehearse/start-search.js';
import type { Desk } from './desk.js';
import { sortieGround } from './sortie-ground.js';
import { readCard } from './step-boat.js';
import { readSorties } from './step-sorties.js';
import { userTime } from './user-time.js';

/** A start that was found, and what was looked at. */
export type FoundStart = Omit<BestStart, 'rehearsals'>;

/** Starts are looked at this far apart, and no more of them than this [s]. */
const STEP_S = 600;
const MOST_STARTS = 1000;
const WINDOWS_SHOWN = 24;

/** `FROM/TO` as two times; what they were taken for where they did not say. @throws UseError saying what was expected */
export function spanOf(text: string, option: string, utcOffsetH: number): { readonly fromS: number; readonly toS: number; readonly said: readonly string[] } {
  const parts = text.split('/');
  if (parts.length !== 2) throw new UseError(`${option}: expected FROM/TO, two times, the later second, such as 2026-06-17T04:00Z/2026-06-18T22:00Z, found ${JSON.stringify(text)}`);
  const [from, to] = [userTime(parts[0]!, option, utcOffsetH), userTime(parts[1]!, option, utcOffsetH)];
  if (!(to.timeS >= from.timeS)) throw new UseError(`${option}: expected the later time second, found ${JSON.stringify(text)}`);
  return { fromS: from.timeS, toS: to.timeS, said: [from.said, to.said].filter((said) => said !== null) };
}

/**
 * The best start in a span for all sorties of a survey; where there is one it is kept in survey.json.
 * @throws UseError where there are no sorties, or the span cannot be read
 */
export async function findStart(desk: Desk, text: string, context: WorkContext): Promise<{ readonly found: FoundStart; readonly text: string[] }> {
  const { folder } = desk;
  const { fromS, toS, said } = spanOf(text, '--best', (await desk.summary()).settings.brief.utcOffsetH);
  // Sorties are cut for a start; that of the middle of the span stands until the best is known.
  const { summary } = await desk.build(context, 'sorties');
  if (summary.sorties?.fault != null) {
    await desk.set('sortie.startUtc', formatUtc(Math.round(fromS)));
    const again = await desk.build(context, 'sorties');
    if (again.summary.sorties?.fault != null) throw new UseError(again.summary.sorties.fault.message);
  }
  const settings = (await desk.summary()).settings;
  const plan = await readSorties(folder);
  if (plan === null || plan.sorties.length === 0) throw new UseError(`${folder}: there are no sorties: plan lines and set a launch point first, with tallow lines ${folder} --launch LAT,LON`);
  const ground = await sortieGround(folder, settings, currentSpan(fromS, toS));
  const common = { ...rehearsalSetting(ground, settings), boat: boatModel(await readCard(folder)) };
  const stepS = Math.max(STEP_S, Math.ceil((toS - fromS) / MOST_STARTS / 60) * 60);
  const { startS, windows, limits, margin, nextS, why } = bestStart({ common, sorties: plan.sorties, swapS: settings.sortie.swapS, clearanceM: settings.sortie.clearanceM, fromS, toS, stepS }, (share) => {
    throwIfCancelled(context.signal);
    context.progress?.('looking for a start', share);
  });
  const found: FoundStart = { startS, windows, limits, margin, nextS, why };
  if (startS !== null) await desk.set('sortie.startUtc', formatUtc(Math.round(startS)));
  return { found, text: [...said.map((line) => `  - ${line}`), ...foundText(found)] };
}

const clock = (timeS: number): string => formatUtc(timeS).slice(0, 16).replace('T', ' ');

/** ISO times as they are said: `2026-06-17 08:20 UTC`. */
function plainTimes(text: string): string {
  return text.replace(/(\d{4}-\d\d-\d\d)T(\d\d:\d\d):\d\d(?:\.\d+)?Z/g, '$1 $2 UTC');
}

/** What was found in words: the start with its margin, or why there is none and what each reason alone would allow. */
function foundText(found: FoundStart): string[] {
  const { startS, windows, why, limits, margin, nextS } = found;
  const plain = (text: string): string => plainTimes(text.replace(/^\S+Z: /, ''));
  const next = Number.isFinite(nextS) ? [`  After the span, the first start that looks like a go: ${clock(nextS)} UTC`] : [];
  return [
    ...(startS === null || margin === null ? [`No start found: ${plain(why)}`, ...limits.map(limitText), ...next] : [`Best start: ${clock(startS)} UTC`, ...marginText(margin).map((line) => `  ${plain(line)}`), `  ${plain(why.slice(why.lastIndexOf('; ') + 2))}`]),
    ...windows.slice(0, WINDOWS_SHOWN).map(({ fromS, toS, go, reason }) => `  ${clock(fromS)} to ${clock(toS)}  ${go ? 'go' : `no-go: ${plain(reason)}`}`),
    ...(windows.length > WINDOWS_SHOWN ? [`  and ${windows.length - WINDOWS_SHOWN} more, with --json`] : []),
  ];
}

/** What is in hand at the best start, a line each. */
function marginText({ earlierS, laterS, before, after, aboveReserveWh, waterM, sunDeg, energyWh, timeS, aboveCheapestWh }: StartMargin): string[] {
  const side = (what: string | null): string => (what === null ? 'at least; no further was looked' : `; then: ${what}`);
  return [
    `earlier         ${spanText(earlierS)}${before === null ? ' ' : ''}${side(before)}`,
    `later           ${spanText(laterS)}${after === null ? ' ' : ''}${side(after)}`,
    `in hand         ${[`${aboveReserveWh.toFixed(0)} Wh above the reserve with the 95 % taken off`, ...(Number.isFinite(waterM) ? [`${waterM.toFixed(1)} m more water than is wanted`] : []), ...(Number.isFinite(sunDeg) ? [`the sun ${sunDeg.toFixed(0)} deg higher than is wanted`] : [])].join(', ')}`,
    `it takes        ${energyWh.toFixed(0)} Wh and ${spanText(timeS)}${aboveCheapestWh >= 1 ? `, ${aboveCheapestWh.toFixed(0)} Wh more than the cheapest start` : ''}`,
  ];
}

const LIMIT_WORDS: Readonly<Record<StartLimit['kind'], string>> = { launch: 'launch point', data: 'what is known', current: 'current', 'keep-out': 'keep-outs', water: 'water', battery: 'battery', daylight: 'daylight', link: 'link', painting: 'lines', speed: 'speed', boat: 'boat' };

function limitText({ kind, bars, allows, text }: StartLimit): string {
  const spans = (each: StartLimit['bars']): string => each.slice(0, 6).map(({ fromS, toS }) => (fromS === toS ? clock(fromS) : `${clock(fromS)} to ${clock(toS)}`)).join(', ') + (each.length > 6 ? ', ...' : '');
  const then = allows.length === 0 ? `at every start looked at: ${plainTimes(text)}` : `bars ${spans(bars)}; by itself it would allow ${spans(allows)}`;
  return `  ! ${LIMIT_WORDS[kind]}: ${then}`;
}
