import { SHEET_FAMILY, SHEET_FAMILY_EXT } from './fonts.js';
import { INK } from './ink.js';

/** How the HTML report is set, on screen and in print. */
export const REPORT_CSS = `
:root { color-scheme: light; }
* { box-sizing: border-box; }
html { background: ${INK.paper}; }
body { margin: 0 auto; padding: 12mm 8mm 20mm; max-width: 283mm; background: ${INK.paper}; color: ${INK.ink};
  font: 400 16px/1.42 "${SHEET_FAMILY}", "${SHEET_FAMILY_EXT}", sans-serif; font-variant-numeric: tabular-nums; }
header, nav, main > * { max-width: 190mm; margin-left: auto; margin-right: auto; }
main > .sheet { max-width: none; }
h1, h2, h3, p, dd, dt, td, th, li, figcaption, caption { overflow-wrap: anywhere; }
header { border-bottom: 0.5mm solid ${INK.ink}; padding-bottom: 4mm; }
.kind { margin: 0; color: ${INK.quiet}; }
h1 { font-size: 36px; line-height: 1.15; font-weight: 600; margin: 0 0 1mm; }
.place { font-size: 19px; margin: 0 0 1mm; }
.warn { color: ${INK.accent}; font-weight: 600; font-size: 19px; margin: 0 0 4mm; }
h2 { font-size: 24px; line-height: 1.2; font-weight: 600; margin-top: 12mm; margin-bottom: 2.5mm; padding-top: 2mm; border-top: 0.3mm solid ${INK.ink}; break-after: avoid; }
h3 { font-size: 18px; font-weight: 600; margin-top: 7mm; margin-bottom: 1.5mm; break-after: avoid; }
p { margin-top: 0; margin-bottom: 2.4mm; orphans: 3; widows: 3; }
p.quiet { color: ${INK.quiet}; font-size: 14.5px; }
p.warning { border-left: 0.8mm solid ${INK.accent}; padding-left: 3mm; margin-top: 3.5mm; break-inside: avoid; }
ul { margin-top: 0; margin-bottom: 3mm; padding-left: 5mm; }
li { margin-bottom: 1mm; break-inside: avoid; }
dl { margin-top: 0; margin-bottom: 4mm; }
dl.title { display: grid; grid-template-columns: repeat(auto-fit, minmax(52mm, 1fr)); gap: 3mm 6mm; margin-bottom: 0; }
dl.title dt { color: ${INK.quiet}; }
dl.title dd { margin: 0; }
dl.title b { display: block; font-size: 18px; font-weight: 600; }
dl.title span { color: ${INK.quiet}; font-size: 14.5px; }
dl.facts > div { display: grid; grid-template-columns: 34mm 1fr; border-top: 0.2mm solid ${INK.hairline}; padding: 1mm 0; break-inside: avoid; }
dl.facts dt { color: ${INK.quiet}; }
dl.facts dd { margin: 0; }
dl.facts b { font-weight: 600; margin-right: 3mm; }
dl.facts span { color: ${INK.quiet}; }
nav { display: flex; flex-wrap: wrap; gap: 1mm 6mm; padding: 2mm 0; border-bottom: 0.2mm solid ${INK.hairline}; }
nav a { color: ${INK.ink}; padding: 2mm 0; }
.table { overflow-x: auto; margin-bottom: 4mm; }
table { border-collapse: collapse; width: 100%; font-size: 14.5px; line-height: 1.3; }
caption { text-align: left; font-weight: 600; font-size: 16px; padding: 2.5mm 0 1mm; break-after: avoid; }
th, td { text-align: left; vertical-align: baseline; padding: 0.8mm 4mm 0.8mm 0; border-bottom: 0.2mm solid ${INK.hairline}; }
th { font-weight: 500; color: ${INK.quiet}; vertical-align: bottom; }
thead th, thead td { border-bottom-color: ${INK.ink}; }
th:last-child, td:last-child { padding-right: 0; }
.n { text-align: right; }
.fit { white-space: nowrap; }
.whole { break-inside: avoid; }
.hash { font-size: 11px; white-space: nowrap; }
tr { break-inside: avoid; }
thead { display: table-header-group; }
figure { margin: 3mm 0 5mm; break-inside: avoid; }
main > figure { margin-left: auto; margin-right: auto; }
figure svg { display: block; max-width: 100%; height: auto; }
.plots > div { display: flex; flex-wrap: wrap; gap: 2mm 4mm; }
figcaption { color: ${INK.quiet}; font-size: 14.5px; margin-top: 1.5mm; }
.sheet { padding-top: 6mm; }
.sheet svg, .sheet figcaption { margin-left: auto; margin-right: auto; }
.sheet.landscape figcaption { max-width: 267mm; }
.sheet.portrait figcaption { max-width: 180mm; }
@media screen and (max-width: 760px) {
  body { padding: 6mm 4mm; }
  table { min-width: 165mm; }
  dl.facts > div { grid-template-columns: 26mm 1fr; }
}
@page { size: A4; margin: 14mm 15mm 16mm; }
@page chart-landscape { size: A4 landscape; margin: 11mm 15mm; }
@page chart-portrait { size: A4; margin: 12mm 15mm; }
@media print {
  html, body { background: none; }
  body { max-width: none; padding: 0; font-size: 10pt; line-height: 1.34; -webkit-print-color-adjust: exact; print-color-adjust: exact; }
  header, nav, main > * { max-width: none; }
  nav { display: none; }
  h1 { font-size: 25pt; }
  h2 { font-size: 16pt; margin-top: 5mm; margin-bottom: 1.5mm; }
  h3 { font-size: 12.5pt; margin-top: 4mm; margin-bottom: 1mm; }
  dl, ul { margin-bottom: 2mm; }
  li { margin-bottom: 0.4mm; }
  p { margin-bottom: 1.8mm; }
  dl.facts > div { padding: 0.4mm 0; }
  th, td { padding-top: 0.5mm; padding-bottom: 0.5mm; }
  .place, .warn { font-size: 14pt; }
  p.quiet, figcaption, table, dl.title span { font-size: 9pt; }
  dl.title b { font-size: 13pt; }
  caption { font-size: 10pt; }
  .hash { font-size: 7pt; }
  .table { overflow: visible; }
  .sheet.landscape { page: chart-landscape; }
  .sheet.portrait { page: chart-portrait; }
  .sheet { padding: 0; }
  .sheet figure { margin: 0; }
  figure svg { max-width: none; height: revert-layer; }
}
`;
