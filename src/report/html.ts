import { buildReportDocument } from './build-document.js';
import type { Block, Fact, Figure, ReportDocument, TableBlock } from './document.js';
import { WHOLE_ROWS } from './document.js';
import { fontFaceCss } from './fonts.js';
import { REPORT_CSS } from './html-style.js';
import type { ReportInput } from './report-input.js';
import { escapeXml, holdFigures } from './safe-text.js';

/**
 * The report as one HTML file that needs nothing else: fonts and figures are inside, there are no scripts, it prints on A4.
 * Equal input gives equal text.
 */
export function renderReportHtml(input: ReportInput): string {
  return documentHtml(buildReportDocument(input));
}

/** A report document as HTML. */
export function documentHtml(document: ReportDocument): string {
  const contents = document.blocks.flatMap((block) => (block.kind === 'heading' && block.level === 1 ? [{ id: block.id, text: block.text }] : block.kind === 'sheet' ? [{ id: 'chart', text: 'Chart' }] : []));
  return [
    '<!doctype html>',
    '<html lang="en">',
    '<head>',
    '<meta charset="utf-8">',
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    /* No script, no request: whatever a file name holds, nothing runs and nothing is fetched. */
    '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'; img-src data:; font-src data:">',
    `<title>${escapeXml(document.title)}: survey report</title>`,
    `<style>\n${fontFaceCss()}\n${REPORT_CSS}</style>`,
    '</head>',
    '<body>',
    '<header>',
    '<p class="kind">Survey report</p>',
    `<h1>${escapeXml(document.title)}</h1>`,
    document.subtitle === '' ? '' : `<p class="place">${escapeXml(document.subtitle)}</p>`,
    '<p class="warn">Not for navigation</p>',
    factsHtml(document.facts, 'title'),
    '</header>',
    `<nav aria-label="Contents">${contents.map(({ id, text: name }) => `<a href="#${id}">${escapeXml(name)}</a>`).join('\n')}</nav>`,
    '<main>',
    ...document.blocks.map(blockHtml),
    '</main>',
    '</body>',
    '</html>',
    '',
  ]
    .filter((line, i, all) => line !== '' || i === all.length - 1)
    .join('\n');
}

function text(content: string): string {
  return escapeXml(holdFigures(content));
}

function blockHtml(block: Block): string {
  switch (block.kind) {
    case 'heading':
      return `<h${block.level + 1} id="${block.id}">${text(block.text)}</h${block.level + 1}>`;
    case 'paragraph':
      return `<p${block.tone === 'plain' ? '' : ` class="${block.tone}"`}>${text(block.text)}</p>`;
    case 'list':
      return `<ul>\n${block.items.map((item) => `<li>${text(item)}</li>`).join('\n')}\n</ul>`;
    case 'facts':
      return factsHtml(block.rows, 'facts');
    case 'table':
      return tableHtml(block);
    case 'figures':
      return `<figure class="plots">\n<div>${block.figures.map(figureHtml).join('\n')}</div>\n<figcaption>${text(block.caption)}</figcaption>\n</figure>`;
    case 'sheet':
      return `<section class="sheet ${block.landscape ? 'landscape' : 'portrait'}" id="chart"><figure>\n${figureHtml(block.figure)}\n<figcaption>${text(block.caption)}</figcaption>\n</figure></section>`;
  }
}

/** Figures come from our own drawing code, which escapes what it is given. */
function figureHtml(figure: Figure): string {
  return figure.svg;
}

function factsHtml(facts: readonly Fact[], name: string): string {
  const rows = facts.map(({ label, value, note = '' }) => `<div><dt>${text(label)}</dt><dd><b>${text(value)}</b>${note === '' ? '' : ` <span>${text(note)}</span>`}</dd></div>`);
  return `<dl class="${name}">\n${rows.join('\n')}\n</dl>`;
}

function tableHtml(block: TableBlock): string {
  const name = (i: number): string => {
    const column = block.columns[i];
    if (column === undefined) return '';
    const names = [column.hash === true ? 'hash' : column.align === 'right' ? 'n' : '', column.share === 0 && column.hash !== true ? 'fit' : ''].filter((each) => each !== '');
    return names.length === 0 ? '' : ` class="${names.join(' ')}"`;
  };
  /* Shares divide what is left over; a column without one is as wide as its content. */
  const total = block.columns.reduce((sum, column) => sum + column.share, 0);
  const widths = block.columns.map(({ share }) => (share > 0 ? `<col style="width:${Math.round((100 * share) / total)}%">` : '<col>')).join('');
  const head = block.columns.map((column, i) => (column.title === '' ? `<td${name(i)}></td>` : `<th scope="col"${name(i)}>${text(column.title)}</th>`)).join('');
  const rows = block.rows.map((row) => `<tr>${row.map((cell, i) => `<td${name(i)}>${text(cell)}</td>`).join('')}</tr>`);
  return `<div class="table${block.rows.length <= WHOLE_ROWS ? ' whole' : ''}" role="region" tabindex="0" aria-label="${text(block.caption)}"><table>\n<caption>${text(block.caption)}</caption>\n<colgroup>${widths}</colgroup>\n<thead><tr>${head}</tr></thead>\n<tbody>\n${rows.join('\n')}\n</tbody>\n</table></div>`;
}
