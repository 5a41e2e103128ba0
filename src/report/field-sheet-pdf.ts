import path from 'node:path';
import { NodeCompiler } from '@myriaddreamin/typst-ts-node-compiler';
import type { FieldSheet } from './field-sheet.js';
import { POINT_MM } from './field-sheet-ink.js';
import { fitText, SHEET_FAMILY, SHEET_FAMILY_EXT, sheetFonts } from './fonts.js';
import { breakLongRuns, holdFigures, onlyDrawable, visibleText } from './safe-text.js';

/**
 * A field sheet as PDF/A-2a: two pages A4, fonts inside. Equal sheets give equal bytes. No text becomes part of the
 * typesetter's program: it reads them as data.
 *
 * @throws Error where the typesetter cannot set it; its message is the typesetter's
 */
export function fieldSheetPdf(sheet: FieldSheet): Promise<Uint8Array> {
  return Promise.resolve().then(() => {
    try {
      return typeset(sheet, (text) => text);
    } catch (error) {
      /* PDF/A wants a glyph for every character. Letters that no font here has stand as their code points. */
      if (!String(error).includes('could not be displayed')) throw error;
      return typeset(sheet, onlyDrawable);
    }
  });
}

function typeset(sheet: FieldSheet, letters: (text: string) => string): Uint8Array {
  const { data, chart, strip } = sheet;
  const workspace = path.resolve('/tallow-field-sheet');
  const compiler = NodeCompiler.create({ workspace, fontArgs: [{ fontBlobs: sheetFonts().map((font) => Buffer.from(font.sfnt)) }] });
  try {
    const give = (name: string, content: string): void => compiler.mapShadow(path.join(workspace, name), Buffer.from(content));
    give('chart.svg', letters(chart.svg));
    give('strip.svg', letters(strip.svg));
    const asText = (text: string): string => letters(breakLongRuns(holdFigures(visibleText(text))));
    const fit = (text: string, widthMm: number, points: number, weight: 400 | 500 | 600 = 400): string => letters(fitText(text, widthMm, points * POINT_MM, weight));
    const set = {
      ...(mapTexts(data, asText) as typeof data),
      sorties: data.sorties.map((row) => ({ ...(mapTexts(row, asText) as typeof row), lines: { ...row.lines, value: fit(row.lines.value, 30, 11, 600) }, linesShort: fit(row.lines.value, data.sortiesSet === 'columns' ? 26 : 74, 9.6) })),
      plainName: letters(visibleText(data.name)),
      shortName: fit(data.name, 110, 20, 600),
      shortPlace: fit([data.place, data.boat].filter((part) => part !== '').join(' · '), 110, 10.5),
      foot: fit(data.name, 70, 9),
      chart: { svg: 'chart.svg', heightMm: chart.heightMm, alt: asText(chart.alt) },
      strip: { svg: 'strip.svg', heightMm: strip.heightMm, alt: asText(strip.alt) },
      families: [SHEET_FAMILY, SHEET_FAMILY_EXT, 'Libertinus Serif', 'DejaVu Sans Mono'],
    };
    give('sheet.json', JSON.stringify(set));
    const result = compiler.compile({ mainFileContent: sheet.typst });
    const made = result.result;
    if (made === null || result.hasError()) {
      const diagnostics = result.takeDiagnostics();
      throw new Error(`the field sheet could not be typeset: ${diagnostics === null ? 'no reason given' : JSON.stringify(compiler.fetchDiagnostics(diagnostics))}`);
    }
    const pdf = compiler.pdf(made, { pdfStandard: 'a-2a' });
    return new Uint8Array(pdf.buffer, pdf.byteOffset, pdf.byteLength).slice();
  } finally {
    compiler.resetShadow();
    compiler.evictCache(0);
  }
}

/** A copy of plain data with every text passed through a function. */
function mapTexts(value: unknown, map: (text: string) => string): unknown {
  if (typeof value === 'string') return map(value);
  if (Array.isArray(value)) return value.map((each) => mapTexts(each, map));
  if (value !== null && typeof value === 'object') return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, mapTexts(inner, map)]));
  return value;
}
