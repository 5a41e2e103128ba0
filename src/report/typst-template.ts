import { typstHead } from './typst-head.js';

/**
 * The typesetter's program: fixed text that reads report.json. Names and values of the survey are data to it, never markup.
 */
export const TYPST_TEMPLATE = typstHead({ file: 'report.json', page: 'margin: (x: 15mm, top: 15mm, bottom: 19mm)', leading: '0.58em', spacing: '0.85em', listSpacing: '0.7em' }) + String.raw`
#show heading.where(level: 1): it => block(above: 1.9em, below: 0.8em, sticky: true, breakable: false, width: 100%)[
  #line(length: 100%, stroke: 0.3mm + ink)
  #v(0.1em)
  #text(size: 16pt, weight: 600, it.body)
]
#show heading.where(level: 2): it => block(above: 1.6em, below: 0.7em, sticky: true, text(size: 12pt, weight: 600, it.body))

#let facts(rows) = {
  table(
    columns: (34mm, 1fr),
    stroke: (x, y) => (top: 0.2mm + hairline),
    inset: (x: 0mm, y: 1mm),
    ..rows.map(row => (
      text(fill: quiet, weight: 400, row.label),
      [#text(fill: ink, weight: 600, row.value)#if row.at("note", default: "") != "" [#h(3mm)#text(fill: quiet, weight: 400, row.note)]],
    )).flatten()
  )
}

#let tabled(block-data) = {
  let columns = block-data.columns
  let body = {
    set text(size: 8.6pt)
    table(
      columns: columns.map(c => if c.share == 0 { auto } else { c.share * 1fr }),
      align: (x, y) => (if columns.at(x).align == "right" { right } else { left }) + (if y == 0 { bottom } else { top }),
      stroke: (x, y) => (bottom: 0.2mm + if y == 0 { ink } else { hairline }),
      inset: (x, y) => (left: if x == 0 { 0mm } else { 1.6mm }, right: if x == columns.len() - 1 { 0mm } else { 1.6mm }, y: 0.9mm),
      table.header(..columns.map(c => c.title)),
      ..block-data.rows.map(row => row.enumerate().map(((i, cell)) => if columns.at(i).at("hash", default: false) { text(size: 6.4pt, cell) } else { cell })).flatten()
    )
  }
  let name = block(above: 1.1em, below: 0.5em, sticky: true, text(weight: 600, block-data.caption))
  if block-data.rows.len() <= data.wholeRows { block(breakable: false, name + body) } else { name + body }
  v(0.5em)
}

#let drawn(figure-data, size: 100%) = image(figure-data.svg, width: figure-data.widthMm * 1mm, height: figure-data.heightMm * 1mm, alt: figure-data.alt)

#let sheet(block-data) = page(
  flipped: block-data.landscape,
  margin: if block-data.landscape { (x: 15mm, top: 11mm, bottom: 15mm) } else { (x: 15mm, top: 10mm, bottom: 16mm) },
)[
  #drawn(block-data.figure)
  #v(-0.4em)
  #text(size: 8.6pt, fill: quiet, block-data.caption)
]

#block(below: 0.9em, text(fill: quiet)[Survey report])
#block(below: 0.75em, title(text(size: 25pt, weight: 600, data.title)))
#if data.subtitle != "" { block(below: 0.75em, text(size: 13pt, data.subtitle)) }
#block(below: 1.6em, text(size: 13pt, weight: 600, fill: accent)[Not for navigation])
#grid(
  columns: (1fr, 1fr, 1fr),
  column-gutter: 6mm,
  row-gutter: 4mm,
  ..data.facts.map(row => [
    #set par(leading: 0.5em)
    #text(fill: quiet, row.label) \
    #text(size: 12pt, weight: 600, row.value)
    #if row.at("note", default: "") != "" [ \ #text(size: 8.6pt, fill: quiet, row.note) ]
  ])
)

#for block-data in data.blocks {
  if block-data.kind == "heading" {
    heading(level: block-data.level, block-data.text)
  } else if block-data.kind == "paragraph" {
    if block-data.tone == "quiet" {
      par(text(size: 8.6pt, fill: quiet, block-data.text))
    } else if block-data.tone == "warning" {
      block(stroke: (left: 0.8mm + accent), inset: (left: 3mm, y: 0.6mm), breakable: false, block-data.text)
    } else {
      par(block-data.text)
    }
  } else if block-data.kind == "list" {
    list(..block-data.items)
  } else if block-data.kind == "facts" {
    block(breakable: false, facts(block-data.rows))
  } else if block-data.kind == "table" {
    tabled(block-data)
  } else if block-data.kind == "figures" {
    block(breakable: false, width: 100%)[
      #grid(columns: block-data.figures.len(), column-gutter: 4mm, ..block-data.figures.map(f => drawn(f)))
      #v(-0.5em)
      #text(size: 8.6pt, fill: quiet, block-data.caption)
    ]
  } else if block-data.kind == "sheet" {
    sheet(block-data)
  }
}
`;
