import path from 'node:path';
import { NodeCompiler } from '@myriaddreamin/typst-ts-node-compiler';
import { fitText, SHEET_FAMILY, SHEET_FAMILY_EXT, sheetFonts } from './fonts.js';
import { INK } from './ink.js';
import { breakLongRuns, holdFigures, onlyDrawable, visibleText } from './safe-text.js';
import { sheetDay, type TrialSheetContent } from './trial-sheet-content.js';
import { TRIAL_SHEET_TYPST } from './trial-sheet-typst.js';

const MM_PER_POINT = 25.4 / 72;
const FOOT_MM = 70;
/** Lines to write on. */
const RULED = 2;

/** A trial sheet as PDF: PDF/A-2a where it has a day, else plain PDF 1.7. Equal content gives equal bytes. */
export function trialSheetContentPdf(content: TrialSheetContent): Promise<Uint8Array> {
  return Promise.resolve().then(() => {
    try {
      return typeset(content, (text) => text);
    } catch (error) {
      /* PDF/A wants a glyph for every character. Letters that no font here has stand as their code points. */
      if (!String(error).includes('could not be displayed')) throw error;
      return typeset(content, onlyDrawable);
    }
  });
}

function typeset(content: TrialSheetContent, letters: (text: string) => string): Uint8Array {
  const workspace = path.resolve('/tallow-trial-sheet');
  const compiler = NodeCompiler.create({ workspace, fontArgs: [{ fontBlobs: sheetFonts().map((font) => Buffer.from(font.sfnt)) }] });
  try {
    const give = (name: string, text: string): void => compiler.mapShadow(path.join(workspace, name), Buffer.from(text));
    const asText = (text: string): string => letters(breakLongRuns(holdFigures(visibleText(text))));
    if (content.figure !== null) give('chart.svg', letters(content.figure.svg));
    const data = {
      ...(mapped({ ...content, figure: null }, asText) as Record<string, unknown>),
      figure: content.figure === null ? null : { svg: 'chart.svg', widthMm: content.figure.widthMm, heightMm: content.figure.heightMm, alt: asText(content.figure.alt) },
      blanks: content.blanks.map((name) => ({ name, value: name === 'Date' ? sheetDay(content.date) : '' })),
      name: letters(visibleText(content.title)),
      foot: asText(fitText(`Trial sheet, ${content.title}`, FOOT_MM, 8 * MM_PER_POINT)),
      families: [SHEET_FAMILY, SHEET_FAMILY_EXT, 'Libertinus Serif', 'DejaVu Sans Mono'],
      ink: INK,
      ruled: RULED,
    };
    give('sheet.json', JSON.stringify(data));
    const result = compiler.compile({ mainFileContent: TRIAL_SHEET_TYPST });
    const made = result.result;
    if (made === null || result.hasError()) {
      const diagnostics = result.takeDiagnostics();
      throw new Error(`the trial sheet could not be typeset: ${diagnostics === null ? 'no reason given' : JSON.stringify(compiler.fetchDiagnostics(diagnostics))}`);
    }
    const pdf = compiler.pdf(made, { pdfStandard: content.date === null ? '1.7' : 'a-2a' });
    return new Uint8Array(pdf.buffer, pdf.byteOffset, pdf.byteLength).slice();
  } finally {
    compiler.resetShadow();
    compiler.evictCache(0);
  }
}

/** A copy of plain data with every text passed through a function. */
function mapped(value: unknown, map: (text: string) => string): unknown {
  if (typeof value === 'string') return map(value);
  if (Array.isArray(value)) return value.map((each) => mapped(each, map));
  if (value !== null && typeof value === 'object') return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, mapped(inner, map)]));
  return value;
}
