import { htmlPage, htmlText } from './html-page.js';
import { INK } from './ink.js';
import { sheetDay, type TrialSheetContent, type TrialSheetRow } from './trial-sheet-content.js';

/** What a trial sheet has beyond the report's look. */
const SHEET_CSS = `
@media (min-width: 761px), print { header dl.title { grid-template-columns: repeat(4, auto); } }
.blanks { display: grid; grid-template-columns: repeat(4, 1fr); gap: 3mm 5mm; margin-top: 4mm; margin-bottom: 4mm; }
.blanks div { border-bottom: 0.3mm solid ${INK.ink}; min-height: 12mm; color: ${INK.quiet}; font-size: 14.5px; }
.blanks b { display: block; color: ${INK.ink}; font-size: 16px; font-weight: 600; }
.cautions { columns: 2; column-gap: 6mm; border-left: 0.8mm solid ${INK.accent}; padding-left: 3mm; break-inside: avoid; }
.cautions p { break-inside: avoid; }
.trials td { vertical-align: top; }
.trials td:first-child { font-size: 18px; font-weight: 600; text-align: right; white-space: nowrap; }
.trials .way { white-space: nowrap; }
.trials span { display: block; color: ${INK.quiet}; font-size: 13px; }
.trials .done { white-space: normal; min-width: 23mm; }
.tick { display: inline-block; width: 4mm; height: 4mm; border: 0.3mm solid ${INK.ink}; border-radius: 0.3mm; margin: 0 1mm 0.6mm 0; vertical-align: middle; }
dl.how > div { grid-template-columns: 14mm 1fr; }
.ruled p { color: ${INK.quiet}; font-size: 14.5px; margin: 3mm 0 0; }
.ruled div { height: 7mm; border-bottom: 0.25mm solid ${INK.quiet}; }
.ruled p + div { height: 3mm; }
@media screen and (max-width: 760px) { .blanks { grid-template-columns: 1fr 1fr; } .cautions { columns: 1; } }
@media print { h1 { font-size: 22pt; } .kind, .place, .warn { margin-bottom: 0; } .warn { margin-bottom: 2mm; } header { padding-bottom: 2mm; } figure { margin: 2mm 0; } .blanks { gap: 1mm 5mm; margin-top: 2mm; margin-bottom: 3mm; } .blanks div { min-height: 10mm; } .blanks b { font-size: 10pt; } .cautions p { margin-bottom: 1mm; } h2 { font-size: 13pt; margin-top: 4mm; } ul { margin-bottom: 1mm; } li, dl.how { font-size: 8.8pt; line-height: 1.25; } dl.how > div { padding: 0.2mm 0; } .trials td, .trials th { padding-top: 0.35mm; padding-bottom: 0.35mm; line-height: 1.2; } h2.first { break-before: page; border-top: none; margin-top: 0; } .trials span { font-size: 8pt; } .blanks div { font-size: 9pt; } .cautions { font-size: 9pt; } .trials td:first-child { font-size: 11pt; } .trials table { font-size: 9pt; } }
`;

/** Lines to write on. */
const RULED = 2;

/** A trial sheet as one HTML file that needs nothing else and prints on A4. Equal content gives equal text. */
export function trialSheetContentHtml(content: TrialSheetContent): string {
  const day = sheetDay(content.date);
  return htmlPage({
    kind: 'Trial sheet',
    title: content.title,
    subtitle: content.subtitle,
    facts: content.facts,
    css: SHEET_CSS,
    main: [
      content.figure === null ? '' : `<figure id="chart">\n${content.figure.svg}\n<figcaption>${htmlText(content.caption)}</figcaption>\n</figure>`,
      `<div class="blanks">${content.blanks.map((name) => `<div>${htmlText(name)}${name === 'Date' && day !== '' ? ` <b>${htmlText(day)}</b>` : ''}</div>`).join('')}</div>`,
      `<div class="cautions">${content.cautions.map((caution) => `<p>${htmlText(caution)}</p>`).join('\n')}</div>`,
      `<div class="ruled"><p>Notes</p>${'<div></div>'.repeat(RULED)}</div>`,
      content.rows.length === 0 ? '' : trialsHtml(content.rows),
      content.how.length === 0 ? '' : `<h2>How each is run</h2>\n<dl class="facts how">${content.how.map((one) => `<div><dt>${htmlText(one.numbers)}</dt><dd>${htmlText(one.text)}</dd></div>`).join('\n')}</dl>`,
      content.shortfalls.length === 0 ? '' : `<h2>What does not fit, or falls short</h2>\n${listHtml(content.shortfalls)}`,
      `<h2>Good to know</h2>\n${listHtml(content.notes)}`,
    ],
  });
}

function listHtml(items: readonly string[]): string {
  return `<ul>\n${items.map((item) => `<li>${htmlText(item)}</li>`).join('\n')}\n</ul>`;
}

function trialsHtml(rows: readonly TrialSheetRow[]): string {
  const head = ['', 'Trial, and what it gives', 'Thrusters', 'True heading', 'Run-up + length', 'Good to', 'Time', 'Passes done'].map((name, i) => (name === '' ? '<td></td>' : `<th scope="col"${i === 5 || i === 6 ? ' class="n"' : ''}>${name}</th>`)).join('');
  const body = rows.map((row) => {
    const ticks = `${row.ticks === 1 && row.passes !== '1' ? `${htmlText(row.passes)} ` : ''}${'<i class="tick"></i>'.repeat(row.ticks)}`;
    return `<tr><td>${htmlText(row.number)}</td><td><b>${htmlText(row.title)}</b><span>${htmlText(row.gives)}</span></td><td>${htmlText(row.command)}</td><td class="fit"><b>${htmlText(row.heading)}</b></td><td class="way">${htmlText(row.way)}</td><td class="n fit">${htmlText(row.accuracy)}</td><td class="n fit">${htmlText(row.time)}</td><td class="done" aria-label="${htmlText(row.passes)} passes">${ticks}</td></tr>`;
  });
  return `<h2 class="first">Trials, in order</h2>\n<div class="table trials" role="region" tabindex="0" aria-label="Trials, in order"><table>\n<thead><tr>${head}</tr></thead>\n<tbody>\n${body.join('\n')}\n</tbody>\n</table></div>`;
}
