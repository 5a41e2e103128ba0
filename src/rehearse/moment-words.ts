import type { LostLinkBehaviour, Mishap, TurnBack, Verdict } from './rehearsal.js';

/** What goes wrong, after "if". */
export const MISHAP_CLAUSES: Readonly<Record<Mishap, string>> = {
  'carry-on': 'the link drops and the boat carries on',
  hold: 'the link drops and the boat holds its place',
  'straight-home': 'the link drops and the boat comes straight home',
  'back-along-track': 'the link drops and the boat comes back along its track',
  'safe-lane': 'the link drops and the boat comes home clear of keep-outs',
  'one-thruster': 'one thruster fails and the boat comes straight home',
  'battery-less': 'the battery holds a fifth less than thought and the boat comes home',
};

/** What the boat is set to do on a lost link, after "to". */
export const BEHAVIOUR_CLAUSES: Readonly<Record<LostLinkBehaviour, string>> = {
  'carry-on': 'carry on',
  hold: 'hold its place',
  'straight-home': 'come straight home',
  'back-along-track': 'come back along its track',
  'safe-lane': 'come home clear of keep-outs',
};

/** A span as the crew says it: `40 s`, `2.5 min`, `35 min`, `2 h 05 min`. */
export function spanText(seconds: number): string {
  const whole = Math.max(0, Math.round(seconds));
  if (whole < 100) return `${whole} s`;
  if (seconds >= 5970) return `${Math.floor(Math.round(seconds / 60) / 60)} h ${String(Math.round(seconds / 60) % 60).padStart(2, '0')} min`;
  return `${(seconds / 60).toFixed(seconds < 600 ? 1 : 0).replace(/\.0$/, '')} min`;
}

/** When after a moment something comes of it: `at once`, `40 s later`. */
export function laterText(seconds: number): string {
  return seconds < 1 ? 'at once' : `${spanText(seconds)} later`;
}

/** A value that is below a limit with as many figures more, up to 3, as show that it is; never minus nought. */
export function belowText(value: number, limit: number, decimals: number): string {
  let shown = decimals;
  while (shown < decimals + 3 && !(Number(value.toFixed(shown)) < limit)) shown++;
  const text = value.toFixed(shown);
  return Number(text) === 0 ? text.replace('-', '') : text;
}

/** What the boat does on a lost link, after "it". */
export const BEHAVIOUR_WORDS: Readonly<Record<LostLinkBehaviour, string>> = {
  'carry-on': 'carries on',
  hold: 'holds its place',
  'straight-home': 'comes straight home',
  'back-along-track': 'comes back along its track',
  'safe-lane': 'comes home clear of keep-outs',
};

/** A share in whole per cent, never 0 or 100 where it is not. */
export function shareText(share: number): string {
  if (share > 0 && share < 0.01) return 'under 1 %';
  if (share > 0.99 && share < 1) return 'over 99 %';
  return `${(100 * share).toFixed(0)} %`;
}

/** The verdict in capitals. */
export function verdictWord(verdicts: readonly Pick<Verdict, 'go' | 'concerns'>[]): 'GO' | 'GO WITH CONDITIONS' | 'NO-GO' {
  if (verdicts.some(({ go }) => !go)) return 'NO-GO';
  return verdicts.some(({ concerns }) => concerns.some(({ weight }) => weight === 'condition')) ? 'GO WITH CONDITIONS' : 'GO';
}

/** What sets the last time to turn back. */
export const TURN_BACK_WORDS: Readonly<Record<TurnBack['limit'], string>> = {
  battery: 'the battery with its reserve',
  daylight: 'daylight',
  tide: 'the tide where it comes back to',
  'tide table': 'the end of the tide table',
  'current table': 'the end of the current file',
  'way home': 'there is no way home from further on',
};
