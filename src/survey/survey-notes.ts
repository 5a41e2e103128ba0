import { formatArea, formatCount, formatDifference, formatDuration, formatMetres, formatOrder, formatShare } from '../report/figures.js';
import { formatUtc } from '../base/time.js';
import { isSonarKind } from '../formats/log-kind.js';
import { reasonLabel } from './soundings-figures.js';
import type { SurveySummary } from './summary.js';
import { unitRemedy } from './unit-words.js';

/** The datum of settings that name none. */
const UNNAMED_DATUM = 'water surface';
/** 1980-01-06, when GPS time begins [s]. */
const UNDATED_BEFORE_S = 315_964_800;
/** A share of soundings set aside that wants an explanation. Common practice. */
const MUCH_ASIDE = 0.1;

/**
 * What the crew should know, in plain words with the cause and what to do; the most pressing first.
 */
export function surveyNotes(summary: Omit<SurveySummary, 'notes'>): string[] {
  const notes: string[] = [];
  const { soundings, gaps, settings, logs } = summary;
  const observed = logs.filter(({ kind }) => !isSonarKind(kind));
  const pings = observed.reduce((sum, log) => sum + log.pings, 0);
  const fixes = observed.reduce((sum, log) => sum + log.fixes, 0);
  if (observed.length > 0 && pings === 0) notes.push('No depths in any log: nothing can be charted from positions alone. Take in the echo sounder\'s log.');
  if (pings > 0 && fixes === 0) notes.push('No positions in any log: depths cannot be placed. Take in the log of the positions.');
  // No survey is older; a log without a date is read as one of that day.
  const undated = observed.filter(({ timeStartS }) => timeStartS < UNDATED_BEFORE_S);
  if (undated.length > 0) {
    notes.push(`${undated.map(({ file }) => file).join(', ')}: times without a date, 1970-01-01 stands for it, also for the tide and the magnetic variation. Give the date of the first record: tallow depths ${summary.folder} --set time.noDate=2026-06-17, or Correct at Depths on the page.`);
  }
  if (soundings !== null && soundings.total > 0) {
    const aside = soundings.total - soundings.good;
    if (soundings.good === 0) {
      const worst = Object.entries(soundings.setAside).sort((a, b) => b[1] - a[1])[0];
      notes.push(`All ${formatCount(soundings.total)} soundings are set aside, most for this: ${worst === undefined ? 'no reason' : reasonLabel(worst[0])}. ${whatToDo(worst?.[0])}`);
    } else if (aside / soundings.total > MUCH_ASIDE) {
      const worst = Object.entries(soundings.setAside).sort((a, b) => b[1] - a[1])[0];
      notes.push(`${formatShare(aside / soundings.total)} of the soundings are set aside, most for this: ${worst === undefined ? 'no reason' : reasonLabel(worst[0])}. ${whatToDo(worst?.[0])}`);
    }
    // A wrong unit or sign is behind what the crossings then say of tide and draft.
    notes.push(...soundings.notes);
    for (const cause of soundings.crossings?.causes ?? []) notes.push(`Crossings: ${cause}`);
    if (soundings.crossings !== null && (soundings.crossings.causes ?? []).length === 0 && soundings.crossings.count >= 5 && Math.abs(soundings.crossings.meanM) > soundings.tvuMedianM) {
      notes.push(`Cross lines differ from main lines by ${formatDifference(soundings.crossings.meanM)} on average, more than the claimed uncertainty: look at water level, draft and latency.`);
    }
  }
  for (const check of summary.instruments ?? []) {
    if (check.state === 'differs') notes.push(`${check.title}: ${check.words} Use it with: tallow instruments ${summary.folder} --apply ${check.check}`);
    for (const note of check.state === 'not-done' ? [] : check.notes) notes.push(`${check.title}: ${note}`);
  }
  const looked = summary.steps.find(({ step }) => step === 'gaps');
  if (gaps !== null && looked !== undefined && looked.state !== 'fresh') {
    notes.push(`Gaps were last looked for before something was changed (${gaps.count === 0 ? 'none' : gaps.count} then): look again with tallow gaps ${summary.folder}.`);
  } else if (gaps !== null && gaps.count > 0) {
    notes.push(
      `${gaps.count === 1 ? 'One gap' : `${gaps.count} gaps`} left, ${formatArea(gaps.areaM2)} in all: ${gaps.fillLines === 1 ? '1 fill-in line' : `${gaps.fillLines} fill-in lines`}, about ${formatDuration(gaps.fillTimeS)} at ${settings.lines.speedMps} m/s.`,
    );
  }
  if (soundings !== null && soundings.good > 0 && soundings.orderMet === null) {
    notes.push(`The soundings meet no order of S-44: median uncertainty ${formatMetres(soundings.tvuMedianM)}; aimed at ${formatOrder(settings.order)}.`);
  }
  if (soundings !== null) {
    const off = [...new Set(soundings.corrections.filter(({ on, mostM, leastM }) => !on && Math.max(Math.abs(mostM), Math.abs(leastM)) >= 0.0005).map(({ label }) => label.replace(/, (along|across) the heading$/, '')))];
    if (off.length > 0) notes.push(`Not applied, and counted whole in the uncertainty: ${off.join('; ')}. Switch on at Correct on the page, or under corrections in survey.json.`);
    if (settings.water.level.kind !== 'none' && settings.datum === UNNAMED_DATUM) {
      notes.push('The datum has no name: depths are below the zero of the water level given, whatever that is. Name it: set datum in survey.json, or Correct at Depths on the page.');
    }
  }
  if (settings.water.level.kind === 'none' && soundings !== null && soundings.total > 0) {
    notes.push('No water level is taken off: depths are below the water surface of the day, not below a datum. Give one: tallow depths FOLDER --water-level gauge.csv, or Correct at Depths on the page.'.replace('FOLDER', summary.folder));
  }
  if (summary.chart != null && summary.chart.refused !== '') notes.push(`No chart for paper: ${summary.chart.refused}. Choose one: tallow report ${summary.folder} --scale NUMBER`);
  const several = summary.surface?.hypotheses;
  if (several !== undefined && several.doubtful > 0) {
    notes.push(`In ${formatCount(several.doubtful)} ${several.doubtful === 1 ? 'cell' : 'cells'} of the surface a second depth has at least half as many soundings as the one drawn: a step, something standing on the floor, or spikes. Look at them before the surface is believed: tallow depths ${summary.folder} --doubtful, or Surface at Depths on the page; another depth is chosen there.`);
  }
  if (several !== undefined && several.lost > 0) {
    notes.push(`${formatCount(several.lost)} ${several.lost === 1 ? 'choice' : 'choices'} of a depth by hand fit no depth of the cell any more, and the rule decides there: choose anew.`);
  }
  notes.push(...imageryNotes(summary));
  return notes;
}

/** More pings than this without a floor under them want an explanation. Common practice. */
const MANY_WITHOUT_FLOOR = 0.05;
/** Heights and depths that differ by more want one, too [m]. */
const MUCH_BIAS_M = 0.2;

/** A clock further off than this deserves a second look [s]. */
const MUCH_OFFSET_S = 120;

/** Side-scan logs without positions, of their own or of another log, in the time they run. */
function unplacedNotes(logs: SurveySummary['logs']): string[] {
  const withFixes = logs.filter(({ kind, fixes }) => !isSonarKind(kind) && fixes > 0);
  return logs
    .filter(({ kind, fixes, timeStartS, timeEndS }) => isSonarKind(kind) && fixes === 0 && !Number.isNaN(timeStartS) && !withFixes.some((log) => log.timeStartS <= timeEndS && log.timeEndS >= timeStartS))
    .map(({ file, timeStartS, timeEndS }) => `logs/${file} runs from ${formatUtc(timeStartS)} to ${formatUtc(timeEndS)} by the sonar's clock, and no log has positions of that time: its pings cannot be placed. Take in the positions of that time; or, where the sonar's clock is wrong, set sonar.clockOffsetS to the seconds to be added.`);
}

function imageryNotes({ imagery, logs }: Omit<SurveySummary, 'notes'>): string[] {
  // Where the clock was looked at, what is said of it says this, too.
  const unplaced = imagery === null || imagery.clock === null ? unplacedNotes(logs) : [];
  if (imagery === null) return unplaced;
  const notes = unplaced;
  const { bottom, clock, mosaic } = imagery;
  if (bottom !== null && bottom.none > MANY_WITHOUT_FLOOR * bottom.pings) notes.push(`Under ${formatShare(bottom.none / bottom.pings)} of the side-scan pings no floor was found, and they are not in the mosaic: draw it by hand on the waterfall, or look whether the sonar was running.`);
  if (clock !== null && !clock.known) notes.push(`Whether the side-scan's clock runs with the positions' is not known: ${clock.how}. An offset of 1 s moves everything by the boat's speed; set sonar.clockOffsetS where you know it.`);
  if (clock?.known === true && clock.parts !== undefined) notes.push(`The side-scan's clock is put right in ${clock.parts} parts: ${clock.how}.`);
  else if (clock !== null && clock.known && clock.offsetS !== 0 && clock.uncertainty95S !== null) notes.push(`The side-scan's clock is off: ${clock.offsetS > 0 ? 'it was slow' : 'it was fast'}, and ${Math.abs(clock.offsetS).toFixed(2)} ± ${clock.uncertainty95S.toFixed(2)} s ${clock.offsetS > 0 ? 'was added' : 'was taken off'}.${Math.abs(clock.offsetS) > MUCH_OFFSET_S ? ' That is much for a clock: look whether the positions are of the same trip.' : ''}`);
  const unit = unitOfDepths(clock?.heightShare ?? null);
  if (clock !== null && unit !== null) notes.unshift(`The floor is ${formatShare(clock.heightShare ?? NaN)} as deep by the side-scan as by the echo sounder: the echo sounder's depths look to be in ${unit}, read as metres. ${unitRemedy(unit, 'log')}`);
  else if (clock !== null && clock.biasM !== null && Math.abs(clock.biasM) > MUCH_BIAS_M) notes.push(`The side-scan's height over the floor differs from the depth surface by ${formatDifference(clock.biasM)}: look at sonar.draftM, the water level and the sound speed.`);
  notes.push(...(mosaic?.notes ?? []));
  return notes;
}

/** How near a share must be to that of a unit. */
const NEAR_UNIT = 0.07;

/** The unit that depths read as metres are in, where the side-scan's heights tell. Source: 1 ft = 0.3048 m exactly, a fathom is 6 ft. */
function unitOfDepths(share: number | null): 'feet' | 'fathoms' | null {
  if (share === null) return null;
  const near = (factor: number): boolean => Math.abs(share / factor - 1) < NEAR_UNIT;
  return near(0.3048) ? 'feet' : near(1.8288) ? 'fathoms' : null;
}

function whatToDo(reason: string | undefined): string {
  switch (reason) {
    case 'no-position':
      return 'Positions and depths do not overlap in time: check time.loggerOffsetS, and whether the positions\' log was taken in.';
    case 'no-water-level':
      return 'The water level series does not cover the time of the soundings: extend it, or set water.level.';
    case 'depth-gate':
      return 'Check sounder.minDepthM and sounder.maxDepthM.';
    case 'repeated':
      return 'The echo sounder repeats one value: it has lost the bottom, or logs coarse depths.';
    case 'position-jump':
      return 'Look whether the clock of the log runs (take-in says where it stands still), at gnss.maxSpeedMps and at the receiver.';
    default:
      return 'Look at them on the page before they are believed.';
  }
}
