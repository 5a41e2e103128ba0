import type { FieldSheet } from './field-sheet.js';
import { POINT_MM } from './field-sheet-ink.js';
import { fitText } from './fonts.js';
import { visibleText } from './safe-text.js';
import { mapTexts, TYPESET_FAMILIES, typesetPdf } from './typeset.js';

/**
 * A field sheet as PDF/A-2a: two pages A4, fonts inside. Equal sheets give equal bytes. No text becomes part of the
 * typesetter's program: it reads them as data.
 *
 * @throws Error where the typesetter cannot set it; its message is the typesetter's
 */
export function fieldSheetPdf(sheet: FieldSheet): Promise<Uint8Array> {
  const { data, chart, strip } = sheet;
  return typesetPdf({
    what: 'the field sheet',
    workspace: 'tallow-field-sheet',
    program: sheet.typst,
    archival: true,
    ready({ give, asText, letters }) {
      give('chart.svg', letters(chart.svg));
      give('strip.svg', letters(strip.svg));
      const fit = (text: string, widthMm: number, points: number, weight: 400 | 500 | 600 = 400): string => letters(fitText(text, widthMm, points * POINT_MM, weight));
      const set = {
        ...(mapTexts(data, asText) as typeof data),
        sorties: data.sorties.map((row) => ({ ...(mapTexts(row, asText) as typeof row), lines: { ...row.lines, value: fit(row.lines.value, 27, 11, 600) }, linesShort: fit(row.lines.value, data.sortiesSet === 'columns' ? 26 : 74, 9.6) })),
        plainName: letters(visibleText(data.name)),
        shortName: fit(data.name, 110, 20, 600),
        shortPlace: fit([data.place, data.boat].filter((part) => part !== '').join(' · '), 110, 10.5),
        foot: fit(data.name, 70, 9),
        chart: { svg: 'chart.svg', heightMm: chart.heightMm, alt: asText(chart.alt) },
        strip: { svg: 'strip.svg', heightMm: strip.heightMm, alt: asText(strip.alt) },
        families: TYPESET_FAMILIES,
      };
      give('sheet.json', JSON.stringify(set));
    },
  });
}
