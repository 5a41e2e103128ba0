import { trialSheetContent } from './trial-sheet-content.js';
import { trialSheetContentHtml } from './trial-sheet-html.js';
import type { TrialSheetInput } from './trial-sheet-input.js';
import { trialSheetContentPdf } from './trial-sheet-pdf.js';

export type { TrialSheetInput } from './trial-sheet-input.js';

/** A plan of trials as a sheet to take along. */
export interface TrialSheet {
  /** One file that needs nothing else; no scripts. */
  readonly html: string;
  /** A4 upright: the chart and what the crew writes in, then the trials with boxes to tick. */
  readonly pdf: Uint8Array;
}

/**
 * The trial sheet as HTML and PDF, of the same words and the same chart. Equal input gives equal bytes.
 * @throws Error where the typesetter cannot set it; its message is the typesetter's
 */
export async function trialSheet(input: TrialSheetInput): Promise<TrialSheet> {
  const content = trialSheetContent(input);
  return { html: trialSheetContentHtml(content), pdf: await trialSheetContentPdf(content) };
}

/** The HTML alone. */
export function trialSheetHtml(input: TrialSheetInput): string {
  return trialSheetContentHtml(trialSheetContent(input));
}

/** The PDF alone. */
export function trialSheetPdf(input: TrialSheetInput): Promise<Uint8Array> {
  return trialSheetContentPdf(trialSheetContent(input));
}
