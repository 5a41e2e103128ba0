import { BEHAVIOUR_WORDS } from '../rehearse/moment-words.js';
import { OUTCOMES } from '../rehearse/rehearsal.js';
import type { Concern, LostLinkBehaviour, Mishap, MomentOutcomes, Outcome, WorstMoment } from '../rehearse/rehearsal.js';
import type { SheetClock } from './field-sheet-clock.js';
import type { FieldSheetInput, FieldSheetSortie } from './field-sheet-input.js';
import { batteryHoldsWh, inRanges, rehearsedWith } from './field-sheet-times.js';
import { wrappedLines } from './field-sheet-ink.js';
import { fitText } from './fonts.js';
import { formatCounted, formatLength, formatNumber, formatShare } from './figures.js';

/** Hazards are told in so many lines of print, the gravest first. */
const HAZARD_LINES = 12;
const HAZARD_MM = 79;

/** A hazard: how grave, and what. */
export interface HazardLine {
  readonly weight: string;
  readonly text: string;
}

/** What comes of one thing that goes wrong, at its worst. */
export interface LostLine {
  /** Whether the boat is set to do it, or does it whatever it is set to. */
  readonly set: boolean;
  readonly name: string;
  readonly outcome: string;
  readonly text: string;
  /** Share of moments from which it ends adrift, in a keep-out or aground. */
  readonly bad: string;
}

const WEIGHTS: Readonly<Record<Concern['weight'], string>> = { 'no-go': 'NO-GO', condition: 'ONLY IF', caution: 'Caution', note: 'Note' };
const BEHAVIOURS: readonly LostLinkBehaviour[] = ['carry-on', 'hold', 'straight-home', 'back-along-track', 'safe-lane'];

const OUTCOME_WORDS: Readonly<Record<Outcome, string>> = { home: 'home', holds: 'holds', drifts: 'ADRIFT', 'keep-out': 'KEEP-OUT', aground: 'AGROUND' };

/** First letter large, as a sentence begins. */
export function sentence(text: string): string {
  return text === '' ? '' : `${text[0]?.toUpperCase()}${text.slice(1)}`;
}

/** What the rehearsals found, gravest first, each told once. */
export function hazardLines(input: FieldSheetInput, clock: SheetClock): HazardLine[] {
  const told: { readonly concern: Concern; readonly sorties: number[]; readonly likewise: number[] }[] = [];
  for (const { sortie, rehearsal } of input.sorties) {
    for (const concern of rehearsal.verdict.concerns) {
      /* Each no-go is told; of cautions and notes alike in kind the first sortie's in full, and which others have the like. */
      const isGrouped = concern.weight !== 'no-go' && concern.kind !== 'data' && concern.kind !== 'boat';
      const same = told.find((each) => each.concern.text === concern.text);
      const alike = isGrouped ? told.find((each) => each.concern.weight === concern.weight && each.concern.kind === concern.kind && !each.sorties.includes(sortie.number)) : undefined;
      if (same !== undefined) same.sorties.push(sortie.number);
      else if (alike !== undefined) {
        if (!alike.likewise.includes(sortie.number)) alike.likewise.push(sortie.number);
      } else told.push({ concern, sorties: [sortie.number], likewise: [] });
    }
  }
  const order: readonly Concern['weight'][] = ['no-go', 'condition', 'caution', 'note'];
  const all = told.sort((p, q) => order.indexOf(p.concern.weight) - order.indexOf(q.concern.weight));
  const named = (numbers: readonly number[]): string => `${numbers.length === 1 ? 'sortie' : 'sorties'} ${inRanges(numbers)}`;
  const lines = all.map(({ concern, sorties, likewise }): HazardLine => {
    const which = sorties.length === input.sorties.length ? '' : ` (${named(sorties)}${likewise.length === 0 ? '' : `; the like in ${named(likewise)}`})`;
    return { weight: WEIGHTS[concern.weight], text: `${sentence(clock.inText(concern.text))}${which}.` };
  });
  if (lines.length === 0) return [{ weight: 'Note', text: 'The rehearsal found nothing to warn of. It knows only what it was told.' }];
  let room = HAZARD_LINES;
  const fitting = lines.findIndex(({ text }, i) => (room -= wrappedLines(text, HAZARD_MM, 9.6)) < (i + 1 < lines.length ? 1 : 0));
  const shown = fitting < 0 ? lines : lines.slice(0, Math.max(1, fitting));
  return shown.length < lines.length ? [...shown, { weight: 'Note', text: `${formatCounted(lines.length - shown.length, 'more thing')} to know, no graver: in the rehearsal.` }] : lines;
}

interface Told {
  readonly one: FieldSheetSortie;
  readonly moments: MomentOutcomes;
}

function toldMoments(input: FieldSheetInput): Told[] {
  return input.sorties.flatMap((one) => (one.moments === null || one.moments.n === 0 ? [] : [{ one, moments: one.moments }]));
}

/** For each behaviour, and for a thruster and the battery, the worst that comes of it. Empty where it was not worked out. */
export function lostLines(input: FieldSheetInput, clock: SheetClock): LostLine[] {
  const told = toldMoments(input);
  if (told.length === 0) return [];
  const names: readonly (readonly [Mishap, string])[] = [
    ...BEHAVIOURS.map((behaviour) => [behaviour, `Link lost, ${BEHAVIOUR_WORDS[behaviour]}`] as const),
    ['one-thruster', 'One thruster fails'],
    ['battery-less', 'Battery holds less than thought'],
  ];
  return names.map(([mishap, name]) => {
    const worst = worstOf(told, mishap);
    let [bad, all] = [0, 0];
    for (const { moments } of told) {
      const { outcome } = moments.outcomes[mishap];
      all += outcome.length;
      for (const value of outcome) if (value >= OUTCOMES.indexOf('drifts')) bad += 1;
    }
    return {
      set: mishap === input.lostLink,
      name,
      outcome: OUTCOME_WORDS[worst.at.outcome],
      text: outcomeText(input, clock, worst.moments, worst.at),
      bad: bad === 0 ? 'never' : formatShare(bad / all, 0),
    };
  });
}

function worstOf(told: readonly Told[], mishap: Mishap): { readonly moments: MomentOutcomes; readonly at: WorstMoment } {
  const left = ({ moments }: Told): number => {
    const { moment } = moments.worstOf[mishap];
    return moments.outcomes[mishap].energyLeftWh[moment] ?? NaN;
  };
  const chosen = told.reduce((most, next) => {
    const [a, b] = [OUTCOMES.indexOf(most.moments.worstOf[mishap].outcome), OUTCOMES.indexOf(next.moments.worstOf[mishap].outcome)];
    return b > a || (b === a && left(next) < left(most)) ? next : most;
  });
  return { moments: chosen.moments, at: chosen.moments.worstOf[mishap] };
}

function outcomeText(input: FieldSheetInput, clock: SheetClock, moments: MomentOutcomes, { mishap, moment, timeS, outcome }: WorstMoment): string {
  const ends = moments.outcomes[mishap];
  const endS = ends.timeS[moment] ?? NaN;
  const minutes = formatNumber(Math.max(0, endS - timeS) / 60);
  const far = formatLength(Math.hypot((ends.xM[moment] ?? NaN) - input.launch.xM, (ends.yM[moment] ?? NaN) - input.launch.yM));
  const left = (ends.energyLeftWh[moment] ?? NaN) / batteryHoldsWh(input);
  const from = `if at ${clock.local(timeS)}`;
  const after = endS - timeS < 30 ? 'at once' : `after ${minutes} min`;
  switch (outcome) {
    case 'home':
      return `home in ${minutes} min with ${formatNumber(100 * left)} % left, ${from}`;
    case 'holds':
      return `still there ${minutes} min later, ${far} from the launch point, ${formatNumber(100 * left)} % left, ${from}`;
    case 'drifts':
      return `drifts ${after}, ${far} from the launch point${left <= 0 ? ', battery empty' : ''}, ${from}`;
    case 'keep-out':
      return `in a keep-out ${after}, ${far} from the launch point, ${from}`;
    case 'aground':
      return `aground ${after}, ${far} from the launch point, ${from}`;
  }
}

/** What to do when the boat stops answering, in order, with the rehearsal's figures. */
export function silentSteps(input: FieldSheetInput, clock: SheetClock): string[] {
  const told = toldMoments(input);
  const doing = BEHAVIOUR_WORDS[input.lostLink];
  const steps: string[] = ['Write down the time, and where it was last seen. Keep watching the link and the water.'];
  let waitS = NaN;
  if (told.length > 0) {
    let [longestS, latestS, holdS, bad] = [NaN, NaN, NaN, 0];
    for (const { moments } of told) {
      const ends = moments.outcomes[input.lostLink];
      for (let i = 0; i < moments.n; i++) {
        const endS = ends.timeS[i] as number;
        const takesS = endS - (moments.timeS[i] as number);
        const outcome = OUTCOMES[ends.outcome[i] as number] as Outcome;
        if (outcome === 'home') {
          if (!(takesS <= longestS)) longestS = takesS;
          if (!(endS <= latestS)) latestS = endS;
        } else if (outcome === 'holds') holdS = Number.isNaN(holdS) ? takesS : Math.min(holdS, takesS);
        else bad += 1;
      }
    }
    const share = Math.max(0, ...input.sorties.map(({ rehearsal: { totals } }) => (totals.timeS > 0 && Number.isFinite(totals.time95S) ? totals.time95S / totals.timeS : 0)));
    if (Number.isFinite(longestS) && input.lostLink !== 'hold') waitS = longestS * (1 + share);
    const home = Number.isFinite(longestS) ? `, at the launch point within ${formatNumber(Math.ceil(longestS / 60))} min of the silence and by ${clock.both(latestS, 'up')} at the latest` : '';
    const hold = Number.isFinite(holdS) ? `${home === '' ? '' : '; where no way leads home it stays where it was'}, for at least ${formatNumber(Math.floor(holdS / 60))} min` : '';
    steps.push(`It is set so that it ${doing}${home}${hold}.${bad > 0 ? ' Not from everywhere: see the table of what happens.' : ''}`);
  } else steps.push(`It is set so that it ${doing}. Where that leads was not worked out: rehearse it, or keep it close.`);
  const silence = silenceWords(input, clock);
  if (silence !== '') steps.push(silence);
  if (Number.isFinite(waitS)) steps.push(`Stay at the launch point and look along its way home. Wait ${formatNumber(Math.ceil(waitS / 60))} min from the silence: the longest way home and the 95 % of its time.`);
  else if (input.lostLink === 'hold') steps.push('Go to where it was last seen with a crewed boat: it waits there.');
  const drift = driftWords(input, clock);
  steps.push(`Not there by then: take it that it drifts. ${drift}`.trim());
  const first = input.contacts.find((line) => line.trim() !== '');
  steps.push(first === undefined ? 'Call who was told, with the last position, the drift and the time. Tell shipping if it lies in a fairway.' : `Call: ${fitText(first.trim(), 100, 3.4)}. Give the last position, the drift and the time.`);
  steps.push('Fetch it with a crewed boat, life jackets on. Never swim after it.');
  return steps;
}

/** Where the link is foreseen to be lost, so that silence there is no alarm, and what the boat then does. */
function silenceWords(input: FieldSheetInput, clock: SheetClock): string {
  const links = input.sorties.flatMap(({ rehearsal: { link } }) => (link === null ? [] : [link]));
  if (links.length === 0) return '';
  const afterS = rehearsedWith(input).lostLinkAfterS;
  const spans = links.flatMap(({ stretches }) => stretches).map(({ fromS, toS }) => ({ text: `${clock.local(fromS, 'down')} to ${clock.local(toS, 'up')}`, isLong: toS - fromS >= afterS }));
  if (spans.length === 0) return 'The link should hold all the way: silence is a fault, of the boat or of the base. Check the base first.';
  const told = (some: typeof spans): string => `${[...new Set(some.map(({ text }) => text))].slice(0, 3).join(', ')}${some.length > 3 ? ` and ${formatCounted(some.length - 3, 'time')} more` : ''}`;
  const long = spans.filter(({ isLong }) => isLong);
  if (long.length === 0) return `Silence for some seconds is foreseen from ${told(spans)}: wait for the link to come back.`;
  if (input.lostLink === 'carry-on') return `Silence is foreseen from ${told(long)}: it carries on; wait for the link to come back.`;
  return `Silence is foreseen from ${told(long)}: after ${formatNumber(afterS)} s of it the boat ${BEHAVIOUR_WORDS[input.lostLink]}.`;
}

function driftWords(input: FieldSheetInput, clock: SheetClock): string {
  let [speed, set, at] = [-1, NaN, NaN];
  for (const { rehearsal } of input.sorties) {
    const { n, timeS, currentMps, currentSetDeg } = rehearsal.columns;
    for (let i = 0; i < n; i++) if ((currentMps[i] as number) > speed) [speed, set, at] = [currentMps[i] as number, currentSetDeg[i] as number, timeS[i] as number];
  }
  if (speed < 0) return '';
  if (speed < 0.02) return 'There is no current to speak of: it goes with the wind.';
  return `The current alone takes it at most ${formatNumber(speed, 2)} m/s, towards ${String(Math.round(set) % 360).padStart(3, '0')}° true at ${clock.both(at)}: ${formatLength(speed * 3600)} in an hour, and the wind adds to it.`;
}

/** What is looked at before the boat is let go. */
export function checksBeforeLaunch(input: FieldSheetInput): string[] {
  const options = rehearsedWith(input);
  const count = input.sorties.length;
  return [
    count === 1 ? 'Battery charged, seated and latched' : `${count} batteries charged; the first seated and latched`,
    'Hull plug in, hatches shut, no water inside',
    'Both thrusters ahead and astern, clear of weed',
    'Position fix good, antenna tight, time right',
    'Logging on, the file grows',
    'Link holds at 50 m, stop command obeyed',
    'Bar check and sound speed written down',
    `Draft measured; rehearsed with ${formatNumber(options.draftM, 2)} m`,
    input.keepouts.length === 0 ? 'No keep-outs were drawn: is that right?' : `${formatCounted(input.keepouts.length, 'keep-out')} loaded into the boat`,
    `Lost link set: ${BEHAVIOUR_WORDS[input.lostLink]}`,
    'Lines loaded, first line looked at',
    'Wind, sea and visibility as thought',
    'Life jackets on; who is to be told has been told',
  ];
}
