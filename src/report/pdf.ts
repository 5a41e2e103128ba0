import { buildReportDocument } from './build-document.js';
import type { ReportDocument } from './document.js';
import { WHOLE_ROWS } from './document.js';
import { fitText } from './fonts.js';
import { INK } from './ink.js';
import type { ReportInput } from './report-input.js';
import { visibleText } from './safe-text.js';
import { mapTexts, TYPESET_FAMILIES, typesetPdf } from './typeset.js';
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
  return typesetPdf({
    what: 'the report',
    workspace: 'tallow-report',
    program: TYPST_TEMPLATE,
    /* PDF/A wants a date. Where nothing was surveyed there is none, and none is made up. */
    archival: document.date !== null,
    ready({ give, asText, letters }) {
      let drawn = 0;
      const data = mapTexts(document, (text, key) => {
        if (key === 'svg') {
          const name = `figure-${(drawn += 1)}.svg`;
          give(name, letters(text));
          return name;
        }
        return KEPT.has(key) ? text : asText(text);
      }) as Record<string, unknown>;
      const footMm = 70;
      const foot = asText(fitText(document.title, footMm, 8 * MM_PER_POINT));
      give('report.json', JSON.stringify({ ...data, name: letters(visibleText(document.title)), foot, families: TYPESET_FAMILIES, ink: INK, wholeRows: WHOLE_ROWS }));
    },
  });
}

const MM_PER_POINT = 25.4 / 72;

/** Keys whose texts are ours and are compared by the template, not shown. */
const KEPT = new Set(['kind', 'tone', 'align', 'id']);
