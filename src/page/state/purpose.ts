import { boundsOfRings } from '../../geo/ring.js';
import type { Lockable } from '../../lines/purpose-values.js';
import type { Settings } from '../../survey/settings.js';
import { isAbort } from '../work/call.js';
import { linesWorker, server } from './actions.js';
import { changeDraft, openDraft, openRing, replan } from './plan.js';
import { session, survey, type PlanDraft, type PlanOptions, type PurposeDraft } from './stores.js';

/** What the folder's lines are for. */
export function purposeOf(lines: Settings['lines'] | undefined): PurposeDraft {
  return { purpose: lines?.purpose ?? { kind: 'own' }, sensor: lines?.sensor ?? null, depthM: lines?.depthM ?? null, locked: lines?.locked ?? [], derived: null, fault: null };
}

function changePurpose(part: Partial<PurposeDraft>): void {
  const draft = session.get().plan;
  if (draft !== null) changeDraft({ purpose: { ...draft.purpose, ...part } });
}

/** Says what the lines are for, what looks at the bottom, or how deep it is: spacing and the rest follow. */
export function setPurpose(part: Partial<Pick<PurposeDraft, 'purpose' | 'sensor' | 'depthM'>>): void {
  const draft = openDraft();
  const purpose = { ...draft.purpose, ...part };
  if (part.purpose?.kind === 'own') {
    // What stood there before a purpose derived it comes back.
    const before = survey.get().summary?.settings.lines.own ?? null;
    changeDraft({ purpose: { ...purpose, derived: null, fault: null }, ...(before === null ? {} : { options: { ...draft.options, ...before } }), changed: true });
    if (before !== null) void replan('full');
    return;
  }
  changeDraft({ purpose, changed: true });
  void derive(true);
}

/** Holds a value as it stands, or lets it follow the purpose again. */
export function setLocked(name: Lockable, locked: boolean): void {
  const draft = openDraft();
  const others = draft.purpose.locked.filter((one) => one !== name);
  changeDraft({ purpose: { ...draft.purpose, locked: locked ? [...others, name] : others }, changed: true });
  void derive(true);
}

/** A value typed by hand stays, whatever the purpose asks; what hangs on it follows. */
export function overridden(key: keyof PlanOptions): void {
  const draft = session.get().plan;
  if (draft === null || draft.purpose.purpose.kind === 'own') return;
  if (!draft.purpose.locked.includes(key)) changePurpose({ locked: [...draft.purpose.locked, key] });
  void derive(true);
}

/** More lines than this are no plan: a mistaken purpose would hold the page for minutes. */
const MOST_LINES = 400;

let busy = false;
let wanted: boolean | null = null;

/** Derives the values in the worker; only the latest wish waits. With `use` they become the draft's own, and lines are planned anew. */
export async function derive(use: boolean): Promise<void> {
  wanted = use;
  if (busy) return;
  busy = true;
  try {
    while (wanted !== null) {
      const now: boolean = wanted;
      wanted = null;
      const draft = session.get().plan;
      const { frame, summary } = survey.get();
      if (draft === null || frame === null || summary === null || draft.purpose.purpose.kind === 'own') continue;
      const { purpose, sensor, depthM, locked } = draft.purpose;
      try {
        const answer = await linesWorker.call('derivePurpose', {
          purpose,
          sensor,
          depthM,
          locked,
          sounder: summary.settings.sounder,
          bottom: summary.settings.rehearse.bottom,
          lines: draft.options,
          at: middleOf(draft),
          frame: frame.setting,
        });
        const lines = 'fault' in answer ? 0 : linesOf(draft, answer.values.spacingM.value);
        if ('fault' in answer) changePurpose({ derived: null, fault: answer.fault });
        else if (lines > MOST_LINES) {
          changePurpose({ derived: answer, fault: `Lines ${Number(answer.values.spacingM.value.toFixed(2))} m apart would be about ${Math.round(lines / 100) * 100} of them: nothing is laid. Another sensor or a lesser aim, or hold a wider spacing.` });
        } else {
          changePurpose({ derived: answer, fault: null });
          if (now) useValues(answer.toSet);
          // Lines laid before it was known how the spacing follows the depth are laid anew.
          if (answer.byDepth) void replan('full');
        }
      } catch (error) {
        if (!isAbort(error)) changePurpose({ derived: null, fault: error instanceof Error ? error.message : String(error) });
      }
    }
  } finally {
    busy = false;
  }
}

/** About how many lines an area takes, by its longest side. */
function linesOf(draft: PlanDraft, spacingM: number): number {
  const rings = draft.area.flatMap((parts) => parts.slice(0, 1).map(openRing));
  if (rings.length === 0 || !(spacingM > 0)) return 0;
  const { westM, eastM, southM, northM } = boundsOfRings(rings);
  return Math.min(eastM - westM, northM - southM) / spacingM;
}

function useValues(values: readonly { readonly name: Lockable; readonly value: number | null }[]): void {
  const draft = session.get().plan;
  if (draft === null) return;
  const options = { ...draft.options, ...Object.fromEntries(values.map(({ name, value }) => [name, value])) };
  if (JSON.stringify(options) === JSON.stringify(draft.options)) return;
  changeDraft({ options, changed: true });
  void replan('full');
}

function middleOf(draft: PlanDraft): { xM: number; yM: number } | null {
  const rings = draft.area.flatMap((parts) => parts.slice(0, 1).map(openRing));
  if (rings.length === 0) return null;
  const { westM, eastM, southM, northM } = boundsOfRings(rings);
  return { xM: (westM + eastM) / 2, yM: (southM + northM) / 2 };
}

/** Writes what the lines are for into the folder, journalled; what stood there before a purpose derived it is kept with it. */
export async function savePurpose(draft: PurposeDraft, set: Settings['lines'] | undefined): Promise<void> {
  if (set !== undefined) {
    const { spacingM, speedMps, headingDeg, crossShare, runInM, runOutM } = set;
    if (draft.purpose.kind === 'own' && set.own !== null) await server.set('lines.own', null);
    else if (draft.purpose.kind !== 'own' && set.own === null) await server.set('lines.own', { spacingM, speedMps, headingDeg, crossShare, runInM, runOutM });
  }
  for (const key of ['purpose', 'sensor', 'depthM', 'locked'] as const) {
    if (JSON.stringify(set?.[key]) !== JSON.stringify(draft[key])) await server.set(`lines.${key}`, draft[key]);
  }
}
