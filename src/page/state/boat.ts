import type { BoatCard, CardFigureName } from '../../boat/boat-card.js';
import type { BoatQuestion } from '../../boat/ask-card.js';
import type { SurveySummary } from '../../survey/summary.js';
import { cardFromJson } from '../words/card-json.js';
import { isAbort } from '../work/call.js';
import type { AskedBoat } from '../work/messages.js';
import { linesWorker, server } from './actions.js';
import { createStore } from './store.js';
import { session, survey } from './stores.js';

/** The boat as its card has it, what it is asked, and what it answers. */
export interface BoatState {
  readonly card: BoatCard | null;
  readonly error: string | null;
  readonly question: BoatQuestion;
  readonly asked: AskedBoat | null;
}

const FIRST: BoatQuestion = { speedMps: 1.5, courseDeg: 0, currentMps: 0, currentSetDeg: 180, reserveShare: 0.2 };

export const boat = createStore<BoatState>({ card: null, error: null, question: FIRST, asked: null });

let held: SurveySummary | null = null;
let reading: AbortController | null = null;

/** Reads the card when the survey says there is one. */
export async function readCard(): Promise<void> {
  const { summary } = survey.get();
  if (summary === null || summary === held) return;
  held = summary;
  reading?.abort();
  if (summary.boat === null) {
    boat.update((now) => ({ ...now, card: null, asked: null, error: null }));
    return;
  }
  reading = new AbortController();
  const { signal } = reading;
  try {
    const answer = await fetch('/files/boat/card.json', { signal, cache: 'no-cache' });
    if (!answer.ok) throw new Error(`boat/card.json: the server answered ${answer.status}; build the boat card again`);
    const card = cardFromJson(await answer.text());
    if (signal.aborted) return;
    const top = card.figures.topSpeed?.value ?? Infinity;
    boat.update((now) => ({ ...now, card, error: null, question: { ...now.question, speedMps: Math.min(now.question.speedMps, top) } }));
    void askAgain();
  } catch (error) {
    if (!signal.aborted && !isAbort(error)) boat.update((now) => ({ ...now, card: null, asked: null, error: error instanceof Error ? error.message : String(error) }));
  }
}

let busy = false;
let wanted = false;

/** Has the worker answer the question as it stands; while one answer is made only the latest question waits. */
async function askAgain(): Promise<void> {
  wanted = true;
  if (busy) return;
  busy = true;
  try {
    while (wanted) {
      wanted = false;
      const { card, question } = boat.get();
      if (card === null) return;
      const asked = await linesWorker.call('askBoat', { card, question });
      boat.update((now) => ({ ...now, asked, error: null }));
    }
  } catch (error) {
    if (!isAbort(error)) boat.update((now) => ({ ...now, asked: null, error: error instanceof Error ? error.message : String(error) }));
  } finally {
    busy = false;
  }
}

export function ask(change: Partial<BoatQuestion>): void {
  boat.update((now) => ({ ...now, question: { ...now.question, ...change } }));
  void askAgain();
}

/** Has the folder's own step make the card. */
export async function makeCardFile(): Promise<void> {
  await act(async () => {
    await server.startJob('build', 'boat');
  });
}

/** Enters a figure by hand, or takes it back with null; the card is made anew. */
export async function setHand(name: CardFigureName, figure: { readonly value: number; readonly uncertainty95: number | null } | null): Promise<void> {
  const { summary } = survey.get();
  if (summary === null) return;
  await act(async () => {
    const hand = Object.fromEntries(Object.entries(summary.settings.boat.hand).filter(([key]) => key !== name));
    await server.set('boat.hand', figure === null ? hand : { ...hand, [name]: figure });
    await server.startJob('build', 'boat');
  });
}

export async function setBoat(key: 'name' | 'lengthM' | 'massKg' | 'defaults' | 'trialLogs', value: unknown): Promise<void> {
  await act(async () => {
    await server.set(`boat.${key}`, value);
    await server.startJob('build', 'boat');
  });
}

async function act(work: () => Promise<void>): Promise<void> {
  try {
    await work();
    session.update((now) => ({ ...now, trouble: null }));
  } catch (error) {
    if (!isAbort(error)) session.update((now) => ({ ...now, trouble: error instanceof Error ? error.message : String(error) }));
  }
}
