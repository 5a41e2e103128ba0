import path from 'node:path';
import { NodeCompiler } from '@myriaddreamin/typst-ts-node-compiler';
import { buildReportDocument } from './build-document.js';
import type { ReportDocument } from './document.js';
import { WHOLE_ROWS } from './document.js';
import { fitText, SHEET_FAMILY, SHEET_FAMILY_EXT, sheetFonts } from './fonts.js';
import { INK } from './ink.js';
import type { ReportInput } from './report-input.js';
import { breakLongRuns, holdFigures, onlyDrawable, visibleText } from './safe-text.js';
import { TYPST_TEMPLATE } from './typst-template.js';

/**
 * The report as PDF/A-2a: archival, tagged, fonts inside; plain PDF 1.7 where nothing was surveyed. Equal input gives equal bytes.
 * No text becomes part of the typesetter's program: it reads the blocks as data.
 *
 * @throws Error where the typesetter cannot set the report; its message is the typesetter's
 */
export function renderReportPdf(input: ReportInput): Promise<Uint8Array> {
  return documentPdf(buildReportDocument(input));
}

/** A report document as PDF/A-2a. */
export function documentPdf(document: ReportDocument): Promise<Uint8Array> {
  return Promise.resolve().then(() => {
    try {
      return typeset(document, (text) => text);
    } catch (error) {
      /* PDF/A wants a glyph for every character. Letters that no font here has stand as their code points. */
      if (!String(error).includes('could not be displayed')) throw error;
      return typeset(document, onlyDrawable);
    }
  });
}

function typeset(document: ReportDocument, letters: (text: string) => string): Uint8Array {
  const workspace = path.resolve('/tallow-report');
  const compiler = NodeCompiler.create({ workspace, fontArgs: [{ fontBlobs: sheetFonts().map((font) => Buffer.from(font.sfnt)) }] });
  try {
    const give = (name: string, content: string): void => compiler.mapShadow(path.join(workspace, name), Buffer.from(content));
    let drawn = 0;
    const asText = (text: string): string => letters(breakLongRuns(holdFigures(visibleText(text))));
    const data = mapTexts(document, (key, text) => {
      if (key === 'svg') {
        const name = `figure-${(drawn += 1)}.svg`;
        give(name, letters(text));
        return name;
      }
      return KEPT.has(key) ? text : asText(text);
    }) as Record<string, unknown>;
    const footMm = 70;
    const foot = asText(fitText(document.title, footMm, 8 * MM_PER_POINT));
    give('report.json', JSON.stringify({ ...data, name: letters(visibleText(document.title)), foot, families: [SHEET_FAMILY, SHEET_FAMILY_EXT, 'Libertinus Serif', 'DejaVu Sans Mono'], ink: INK, wholeRows: WHOLE_ROWS }));
    const result = compiler.compile({ mainFileContent: TYPST_TEMPLATE });
    const made = result.result;
    if (made === null || result.hasError()) {
      const diagnostics = result.takeDiagnostics();
      throw new Error(`the report could not be typeset: ${diagnostics === null ? 'no reason given' : JSON.stringify(compiler.fetchDiagnostics(diagnostics))}`);
    }
    /* PDF/A wants a date. Where nothing was surveyed there is none, and none is made up. */
    const pdf = compiler.pdf(made, { pdfStandard: document.date === null ? '1.7' : 'a-2a' });
    return new Uint8Array(pdf.buffer, pdf.byteOffset, pdf.byteLength).slice();
  } finally {
    compiler.resetShadow();
    compiler.evictCache(0);
  }
}

const MM_PER_POINT = 25.4 / 72;

/** Keys whose texts are ours and are compared by the template, not shown. */
const KEPT = new Set(['kind', 'tone', 'align', 'id']);

/** A copy of plain data with every text passed through a function, with the key it stands under (of its list, for a list). */
function mapTexts(value: unknown, map: (key: string, text: string) => string, key = ''): unknown {
  if (typeof value === 'string') return map(key, value);
  if (Array.isArray(value)) return value.map((each) => mapTexts(each, map, key));
  if (value !== null && typeof value === 'object') return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, mapTexts(inner, map, name)]));
  return value;
}
