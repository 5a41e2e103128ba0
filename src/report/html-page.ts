import type { Fact } from './document.js';
import { fontFaceCss } from './fonts.js';
import { REPORT_CSS } from './html-style.js';
import { escapeXml, holdFigures } from './safe-text.js';

/** A document in the report's look. */
export interface HtmlPage {
  /** What it is: `Survey report`. */
  readonly kind: string;
  readonly title: string;
  /** Empty for none. */
  readonly subtitle: string;
  readonly facts: readonly Fact[];
  /** What it has beyond the report's look. */
  readonly css?: string;
  /** Between head and body, and the body; empty ones are left out. */
  readonly nav?: string;
  readonly main: readonly string[];
}

/** Text as it stands in a page: escaped, numbers held to their units. */
export function htmlText(content: string): string {
  return escapeXml(holdFigures(content));
}

/** One HTML file that needs nothing else: fonts inside, no scripts, no requests whatever a name holds. Equal input gives equal text. */
export function htmlPage({ kind, title, subtitle, facts, css = '', nav = '', main }: HtmlPage): string {
  return [
    '<!doctype html>',
    '<html lang="en">',
    '<head>',
    '<meta charset="utf-8">',
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    /* No script, no request: whatever a name holds, nothing runs and nothing is fetched. */
    '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'; img-src data:; font-src data:">',
    `<title>${escapeXml(title)}: ${kind.toLowerCase()}</title>`,
    `<style>\n${fontFaceCss()}\n${REPORT_CSS}${css}</style>`,
    '</head>',
    '<body>',
    '<header>',
    `<p class="kind">${kind}</p>`,
    `<h1>${escapeXml(title)}</h1>`,
    subtitle === '' ? '' : `<p class="place">${escapeXml(subtitle)}</p>`,
    '<p class="warn">Not for navigation</p>',
    factsHtml(facts, 'title'),
    '</header>',
    nav,
    '<main>',
    ...main,
    '</main>',
    '</body>',
    '</html>',
    '',
  ]
    .filter((line, i, all) => line !== '' || i === all.length - 1)
    .join('\n');
}

/** Names and values. */
export function factsHtml(facts: readonly Fact[], name: string): string {
  const rows = facts.map(({ label, value, note = '' }) => `<div><dt>${htmlText(label)}</dt><dd><b>${htmlText(value)}</b>${note === '' ? '' : ` <span>${htmlText(note)}</span>`}</dd></div>`);
  return `<dl class="${name}">\n${rows.join('\n')}\n</dl>`;
}
