import { buildReportDocument } from './build-document.js';
import type { Block, Figure, ReportDocument, TableBlock } from './document.js';
import { WHOLE_ROWS } from './document.js';
import { factsHtml, htmlPage, htmlText } from './html-page.js';
import type { ReportInput } from './report-input.js';
import { escapeXml } from './safe-text.js';

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
  return htmlPage({
    kind: 'Survey report',
    title: document.title,
    subtitle: document.subtitle,
    facts: document.facts,
    nav: `<nav aria-label="Contents">${contents.map(({ id, text: name }) => `<a href="#${id}">${escapeXml(name)}</a>`).join('\n')}</nav>`,
    main: document.blocks.map(blockHtml),
  });
}

function blockHtml(block: Block): string {
  switch (block.kind) {
    case 'heading':
      return `<h${block.level + 1} id="${block.id}">${htmlText(block.text)}</h${block.level + 1}>`;
    case 'paragraph':
      return `<p${block.tone === 'plain' ? '' : ` class="${block.tone}"`}>${htmlText(block.text)}</p>`;
    case 'list':
      return `<ul>\n${block.items.map((item) => `<li>${htmlText(item)}</li>`).join('\n')}\n</ul>`;
    case 'facts':
      return factsHtml(block.rows, 'facts');
    case 'table':
      return tableHtml(block);
    case 'figures':
      return `<figure class="plots">\n<div>${block.figures.map(figureHtml).join('\n')}</div>\n<figcaption>${htmlText(block.caption)}</figcaption>\n</figure>`;
    case 'sheet':
      return `<section class="sheet ${block.landscape ? 'landscape' : 'portrait'}" id="chart"><figure>\n${figureHtml(block.figure)}\n<figcaption>${htmlText(block.caption)}</figcaption>\n</figure></section>`;
  }
}

/** Figures come from our own drawing code, which escapes what it is given. */
function figureHtml(figure: Figure): string {
  return figure.svg;
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
  const head = block.columns.map((column, i) => (column.title === '' ? `<td${name(i)}></td>` : `<th scope="col"${name(i)}>${htmlText(column.title)}</th>`)).join('');
  const rows = block.rows.map((row) => `<tr>${row.map((cell, i) => `<td${name(i)}>${htmlText(cell)}</td>`).join('')}</tr>`);
  return `<div class="table${block.rows.length <= WHOLE_ROWS ? ' whole' : ''}" role="region" tabindex="0" aria-label="${htmlText(block.caption)}"><table>\n<caption>${htmlText(block.caption)}</caption>\n<colgroup>${widths}</colgroup>\n<thead><tr>${head}</tr></thead>\n<tbody>\n${rows.join('\n')}\n</tbody>\n</table></div>`;
}
