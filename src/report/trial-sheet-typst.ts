import { typstHead } from './typst-head.js';

/**
 * The typesetter's program for a trial sheet: fixed text that reads sheet.json. Names and values are data to it, never markup.
 */
export const TRIAL_SHEET_TYPST = typstHead({ file: 'sheet.json', page: 'margin: (x: 15mm, top: 12mm, bottom: 16mm), footer-descent: 4mm', leading: '0.55em', spacing: '0.8em', listSpacing: '0.6em' }) + String.raw`
#show heading.where(level: 1): it => block(above: 1.3em, below: 0.7em, sticky: true, breakable: false, width: 100%)[
  #line(length: 100%, stroke: 0.3mm + ink)
  #v(-0.1em)
  #text(size: 13pt, weight: 600, it.body)
]

#let tick = box(width: 3.6mm, height: 3.6mm, stroke: 0.3mm + ink, radius: 0.3mm, baseline: 0.5mm)

#grid(
  columns: (1fr, auto),
  align: (left + bottom, right + bottom),
  [
    #block(below: 0.6em, text(fill: quiet)[Trial sheet])
    #block(below: 0.6em, title(text(size: 23pt, weight: 600, data.title)))
    #if data.subtitle != "" { text(size: 11.5pt, data.subtitle) }
  ],
  text(size: 13pt, weight: 600, fill: accent)[Not for navigation],
)
#v(1.5mm)
#line(length: 100%, stroke: 0.5mm + ink)
#v(0.5mm)
#grid(
  columns: (1fr, 1.15fr, 1.1fr, 1.25fr),
  column-gutter: 5mm,
  ..data.facts.map(row => [
    #set par(leading: 0.45em)
    #text(size: 8.6pt, fill: quiet, row.label) \
    #text(size: 11pt, weight: 600, row.value)
    #if row.at("note", default: "") != "" [ \ #text(size: 8.6pt, fill: quiet, row.note) ]
  ])
)
#v(1mm)
#if data.figure != none {
  image(data.figure.svg, width: data.figure.widthMm * 1mm, height: data.figure.heightMm * 1mm, alt: data.figure.alt)
  v(-0.6em)
  text(size: 8.6pt, fill: quiet, data.caption)
}
#v(3mm)
#grid(
  columns: (1fr, 1fr, 1fr, 1fr),
  column-gutter: 5mm,
  row-gutter: 3.2mm,
  ..data.blanks.map(blank => [
    #text(size: 8.6pt, fill: quiet, blank.name)
    #block(above: 0.8mm, below: 0mm, width: 100%, height: 6mm, stroke: (bottom: 0.25mm + ink), inset: (y: 1mm), align(bottom, text(weight: 600, blank.value)))
  ])
)
#v(2mm)
#block(stroke: (left: 0.8mm + accent), inset: (left: 3mm, y: 0.6mm), breakable: false)[
  #set text(size: 9pt)
  #grid(columns: (1fr, 1fr), column-gutter: 6mm, row-gutter: 2mm, ..data.cautions)
]
#v(2mm)
#text(size: 8.6pt, fill: quiet)[Notes]
#v(-2mm)
#for i in range(data.ruled) { block(above: 0mm, below: 0mm, height: 7mm, width: 100%, stroke: (bottom: 0.25mm + quiet)) }

#pagebreak()
#let trials-block = if data.rows.len() > 0 {
  heading(level: 1)[Trials, in order]
  set text(size: 9pt)
  table(
    columns: (auto, 1fr, 29mm, auto, auto, auto, auto, 21mm),
    align: (x, y) => (if x == 0 or x == 5 or x == 6 { right } else { left }) + (if y == 0 { bottom } else { top }),
    stroke: (x, y) => (bottom: 0.2mm + if y == 0 { ink } else { hairline }),
    inset: (x, y) => (left: if x == 0 { 0mm } else { 1.3mm }, right: if x == 7 { 0mm } else { 1.3mm }, y: 0.75mm),
    table.header([], [Trial, and what it gives], [Thrusters], [True heading], [Run-up + length], [Good to], [Time], [Passes done]),
    ..data.rows.map(row => (
      text(size: 11pt, weight: 600, row.number),
      [
        #set par(leading: 0.4em)
        #text(weight: 600, row.title) \
        #text(size: 7.8pt, fill: quiet, row.gives)
      ],
      row.command,
      text(weight: 600, row.heading),
      row.way,
      row.accuracy,
      row.time,
      if row.ticks == 1 and row.passes != "1" [#row.passes #tick] else [#set par(leading: 0.3em); #for i in range(row.ticks) { tick; if calc.rem(i, 4) == 3 and i + 1 < row.ticks { linebreak() } else { h(1mm) } }],
    )).flatten()
  )
}
#let words-block = {
if data.how.len() > 0 {
  heading(level: 1)[How each is run]
  set text(size: 8.6pt)
  set par(leading: 0.45em)
  grid(
    columns: (13mm, 1fr),
    row-gutter: 1.5mm,
    ..data.how.map(one => (
      text(weight: 600, one.numbers),
      one.text,
    )).flatten()
  )
}
if data.shortfalls.len() > 0 {
  heading(level: 1)[What does not fit, or falls short]
  set text(size: 8.6pt)
  list(..data.shortfalls)
}
  heading(level: 1)[Good to know]
  set text(size: 8.6pt)
  list(..data.notes)
}
// Where both do not go on one page, the words have the next to themselves, with room to write below them.
#context {
  let both = measure(block(width: 180mm, trials-block + words-block)).height
  trials-block
  if both > 268mm {
    pagebreak()
    words-block
    heading(level: 1)[Notes of the day]
    block(height: 1fr, width: 100%, clip: true, for _ in range(34) { block(above: 0mm, below: 0mm, height: 8mm, width: 100%, stroke: (bottom: 0.25mm + quiet)) })
  } else { words-block }
}
`;
