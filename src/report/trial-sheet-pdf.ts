import { fitText } from './fonts.js';
import { INK } from './ink.js';
import { visibleText } from './safe-text.js';
import { sheetDay, type TrialSheetContent } from './trial-sheet-content.js';
import { TRIAL_SHEET_TYPST } from './trial-sheet-typst.js';
import { mapTexts, TYPESET_FAMILIES, typesetPdf } from './typeset.js';

const MM_PER_POINT = 25.4 / 72;
const FOOT_MM = 70;
/** Lines to write on. */
const RULED = 2;

/** A trial sheet as PDF: PDF/A-2a where it has a day, else plain PDF 1.7. Equal content gives equal bytes. */
export function trialSheetContentPdf(content: TrialSheetContent): Promise<Uint8Array> {
  return typesetPdf({
    what: 'the trial sheet',
    workspace: 'tallow-trial-sheet',
    program: TRIAL_SHEET_TYPST,
    archival: content.date !== null,
    ready({ give, asText, letters }) {
      if (content.figure !== null) give('chart.svg', letters(content.figure.svg));
      const data = {
        ...(mapTexts({ ...content, figure: null }, asText) as Record<string, unknown>),
        figure: content.figure === null ? null : { svg: 'chart.svg', widthMm: content.figure.widthMm, heightMm: content.figure.heightMm, alt: asText(content.figure.alt) },
        blanks: content.blanks.map((name) => ({ name, value: name === 'Date' ? sheetDay(content.date) : '' })),
        name: letters(visibleText(content.title)),
        foot: asText(fitText(`Trial sheet, ${content.title}`, FOOT_MM, 8 * MM_PER_POINT)),
        families: TYPESET_FAMILIES,
        ink: INK,
        ruled: RULED,
      };
      give('sheet.json', JSON.stringify(data));
    },
  });
}
