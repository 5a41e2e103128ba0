/**
 * The typesetter's program for the field sheet: fixed text that reads sheet.json and two figures. Names and words of the survey
 * are data to it, never markup. No type under 9 pt; black on white.
 */
export const FIELD_SHEET_TEMPLATE = String.raw`
#let data = json("sheet.json")
#let black = rgb("#000000")
#let grey = rgb("#5c5c5c")
#let tint = rgb("#ececec")
#set document(
  title: data.plainName,
  date: datetime(year: data.date.at(0), month: data.date.at(1), day: data.date.at(2)),
)
#let foot = {
  set text(size: 9pt)
  grid(
    columns: (1fr, auto, 1fr),
    data.foot,
    text(weight: 600)[Not for navigation],
    align(right, context [Field sheet, #counter(page).display() of #counter(page).final().at(0)]),
  )
}
#set page(paper: "a4", margin: (x: 11mm, top: 9mm, bottom: 13mm), footer: foot, footer-descent: 3.5mm)
#set text(font: data.families, stretch: 87.5%, size: 9.6pt, fill: black, lang: "en", hyphenate: false, number-width: "tabular")
#set par(leading: 0.5em, spacing: 0.7em)
#show heading: it => block(above: 0pt, below: 1.6mm, sticky: true, text(size: 11.5pt, weight: 600, it.body))

// Page one: the launch.
#let title-block = block(height: 13mm, width: 100%, below: 2mm, grid(
  columns: (1fr, auto),
  [
    #text(size: 20pt, weight: 600, data.shortName)
    #v(-2.4mm)
    #text(size: 10.5pt, data.shortPlace)
  ],
  align(right)[
    #text(size: 14pt, weight: 600, data.day)
    #v(-1.6mm)
    #text(size: 10.5pt)[#if data.zone == "UTC" [Times in UTC] else [Large times local, #data.zone\; small times UTC]]
  ],
))

#let verdict-block = block(width: 100%, below: 2.5mm, grid(
  columns: (50mm, 1fr),
  column-gutter: 4mm,
  align: horizon,
  rect(
    width: 100%, height: 14mm, radius: 1mm,
    fill: if data.go { black } else { white },
    stroke: if data.go { none } else { 1.4mm + black },
    align(center + horizon, text(size: if data.verdict.len() > 7 { 19pt } else { 28pt }, weight: 600, fill: if data.go { white } else { black }, data.verdict)),
  ),
  {
    set text(size: 11pt, weight: 500)
    stack(spacing: 1.6mm, ..data.reasons.map(reason => par(reason)))
  },
))

#let stamp(figure-data, size: 14pt) = stack(
  spacing: 1.3mm,
  text(size: size, weight: 600, figure-data.value),
  text(size: 9pt, figure-data.note),
)
#let sorties-head = ([], [], [Launch], [Start between], [Turn back by], [Back by], [Lines], [Battery left])
#let sorties-large = table(
  columns: (7mm, 19mm, 19mm, 30mm, 29mm, 20mm, 1fr, 34mm),
  stroke: (x, y) => (bottom: if y == 0 { 0.4mm } else { 0.15mm } + black),
  inset: (x: 1mm, y: 1.1mm),
  align: left + horizon,
  table.header(..sorties-head.map(name => text(size: 9pt, weight: 500, name))),
  ..data.sorties.map(row => (
    text(size: 14pt, weight: 600, row.number),
    text(size: 14pt, weight: 600, row.verdict),
    stamp(row.launch),
    stamp(row.window, size: 11pt),
    stamp(row.turnBack),
    stamp(row.back),
    stamp(row.lines, size: 11pt),
    stamp(row.battery),
  )).flatten(),
)
#let sorties-small(rows) = {
  set text(size: 9.6pt)
  let short(figure-data) = [#text(weight: 600, figure-data.value)#if figure-data.note.ends-with("UTC") [ #text(size: 9pt, figure-data.note.replace(" UTC", "u"))]]
  table(
    columns: (6mm, auto, auto, auto, auto, 1fr, auto),
    stroke: (x, y) => (bottom: if y == 0 { 0.4mm } else { 0.15mm } + black),
    inset: (x: 0.8mm, y: 0.9mm),
    align: left + horizon,
    table.header(..([], [], [Launch], [Turn by], [Back by], [Lines], [Left]).map(name => text(size: 9pt, weight: 500, name))),
    ..rows.map(row => (
      text(weight: 600, row.number),
      text(weight: 600, row.verdict),
      if data.sortiesSet == "columns" { text(weight: 600, row.launch.value) } else { short(row.launch) },
      if data.sortiesSet == "columns" { text(weight: 600, row.turnBack.value) } else { short(row.turnBack) },
      if data.sortiesSet == "columns" { text(weight: 600, row.back.value) } else { short(row.back) },
      row.linesShort,
      text(weight: 600, row.battery.value),
    )).flatten(),
  )
}
#let sorties-block = block(width: 100%, below: 2.5mm, {
  if data.sortiesSet == "large" { sorties-large } else if data.sortiesSet == "small" { sorties-small(data.sorties) } else {
    let half = calc.ceil(data.sorties.len() / 2)
    grid(columns: (1fr, 1fr), column-gutter: 5mm, sorties-small(data.sorties.slice(0, half)), sorties-small(data.sorties.slice(half)))
  }
  block(above: 1.3mm, below: 0mm, text(size: 9pt, data.sortiesNote))
})

#let figures-block = block(width: 100%, below: 2.5mm, fill: tint, inset: (x: 2mm, y: 1.6mm), grid(
  columns: data.figures.map(_ => 1fr),
  column-gutter: 2mm,
  ..data.figures.map(each => stack(spacing: 1.3mm, text(size: 9pt, weight: 500, each.label), text(size: 14pt, weight: 600, each.value), text(size: 9pt, each.note))),
))

#let drawn(figure-data, height) = image(figure-data.svg, height: height, alt: figure-data.alt)
#let strip-block = {
  if data.chartNote != "" { block(below: 1.2mm, text(size: 9pt, data.chartNote)) }
  drawn(data.strip, data.strip.heightMm * 1mm)
}

#title-block
#verdict-block
#sorties-block
#figures-block
#block(height: 1fr, width: 100%, layout(size => {
  let below = measure(block(width: size.width, strip-block)).height
  let room = size.height - below - 2mm
  align(center, drawn(data.chart, calc.min(data.chart.heightMm * 1mm, room)))
  v(1fr)
  strip-block
}))
#pagebreak()

// Page two: the trip.
#let hazards-block = [
  = Hazards
  #set par(leading: 0.45em)
  #grid(
    columns: (16mm, 1fr),
    row-gutter: 1.5mm,
    ..data.hazards.map(each => (
      if each.weight == "NO-GO" { box(fill: black, inset: (x: 0.8mm), outset: (y: 0.7mm), text(fill: white, weight: 600, each.weight)) } else { text(weight: if each.weight == "Note" { 400 } else { 600 }, each.weight) },
      each.text,
    )).flatten(),
  )
]
#let lost-block = [
  = If something goes wrong: the worst that comes of it
  #if data.lost.len() == 0 [Not worked out: rehearse the sorties with their worst moments.] else {
    table(
      columns: (auto, auto, 1fr, auto),
      stroke: (x, y) => (bottom: if y == 0 { 0.4mm } else { 0.15mm } + black),
      inset: (x: 1mm, y: 0.85mm),
      fill: (x, y) => if y > 0 and data.lost.at(y - 1).set { tint },
      align: left + horizon,
      table.header(..([What], [At worst], [], [Ends badly]).map(name => text(size: 9pt, weight: 500, name))),
      ..data.lost.map(each => (
        [#text(weight: if each.set { 600 } else { 400 }, each.name)#if each.set [ #text(weight: 600)[◀ SET]]],
        text(weight: 600, each.outcome),
        each.text,
        each.bad,
      )).flatten(),
    )
  }
]
#let silent-block = [
  = When it stops answering
  #set par(leading: 0.45em)
  #set enum(spacing: 1.5mm, numbering: n => text(weight: 600)[#n])
  #enum(..data.silent)
]
#let checks-block = [
  = Before launch
  #grid(
    columns: (5.4mm, 1fr),
    row-gutter: 1.7mm,
    align: horizon,
    ..data.checks.map(each => (box(width: 3.4mm, height: 3.4mm, stroke: 0.35mm + black), each)).flatten(),
  )
]
#let ruled(count) = for _ in range(count) { block(height: 6.4mm, width: 100%, above: 0mm, below: 0mm, stroke: (bottom: 0.2mm + black)) }
#let tell-block = [
  = Who to tell
  #if data.contacts.len() == 0 { ruled(4) } else { for each in data.contacts { block(above: 1.4mm, below: 1.4mm, each) } }
]
#let emergency-block = [
  = In an emergency
  #if data.emergency.len() == 0 { ruled(3) } else { for each in data.emergency { block(above: 1.4mm, below: 1.4mm, text(weight: 500, each)) } }
]
#let cautions-block = [
  = Cautions
  #set text(size: 9pt)
  #set par(leading: 0.42em)
  #list(spacing: 1.2mm, marker: [–], ..data.cautions)
]
#let words-block = {
  lost-block
  v(1.5mm)
  grid(
    columns: (1.22fr, 1fr),
    column-gutter: 7mm,
    stack(spacing: 3.2mm, hazards-block, silent-block, emergency-block, tell-block),
    stack(spacing: 3.2mm, checks-block, cautions-block),
  )
}

#let line-name(row) = if row.at(0) == row.at(1) { row.at(0) } else [#row.at(0) · #row.at(1)]
#let many-sorties = data.sorties.len() > 1
#let place-name = if data.lines.degrees == "" { "" } else { " " + data.lines.degrees }
#let rules(y) = (bottom: if y == 0 { 0.4mm } else { 0.15mm } + black)
#let lines-wide(rows, height) = table(
  columns: (auto, ..if many-sorties { (auto,) }, auto, auto, auto, auto, auto, 17mm, 17mm, 1fr),
  rows: (auto, ..rows.map(_ => height)),
  stroke: (x, y) => (..rules(y), left: if x >= 6 + int(many-sorties) { 0.15mm + black }),
  inset: (x: 1mm, y: 0.4mm),
  align: (x, y) => left + horizon,
  table.header(
    ..([Run · line], ..if many-sorties { ([Sortie],) }, [From#place-name], [To#place-name], [Hdg], [m], [Planned], [Start], [End], [Remarks]).map(name => pad(bottom: 0.9mm, text(size: 9pt, weight: 500, name))),
  ),
  ..rows.map(row => (
    text(weight: 600, line-name(row)),
    ..if many-sorties { (row.at(2),) },
    row.at(3), row.at(4), row.at(5), align(right, row.at(6)),
    [#text(weight: 600, row.at(7))#if data.zone != "UTC" [ #text(size: 9pt, row.at(8))]],
    [], [], [],
  )).flatten(),
)
#let lines-narrow(rows, height, columns) = {
  set text(size: 9pt)
  let three = columns == 3
  table(
    columns: if three { (auto, auto, auto, auto, 1fr) } else { (auto, auto, auto, auto, auto, 1fr) },
    rows: (auto, ..rows.map(_ => height)),
    stroke: (x, y) => rules(y),
    inset: (x: if three { 0.6mm } else { 0.7mm }, y: 0.3mm),
    align: left + horizon,
    table.header(..if three { ([Run · line], [From#place-name], [Hdg], [m], [Start]) } else { ([Run · line], [From#place-name], [To], [Hdg], [Start], [Done]) }.map(name => pad(bottom: 0.9mm, text(weight: 500, name)))),
    ..rows.map(row => if three {
      (text(weight: 600, line-name(row)), row.at(3), row.at(5), row.at(6), text(weight: 600, row.at(7)))
    } else {
      (text(weight: 600, line-name(row)), row.at(3), row.at(4), row.at(5), text(weight: 600, row.at(7)), [])
    }).flatten(),
  )
}
#let lines-block(room) = {
  let rows = data.lines.rows
  let left = room - 17.5mm
  let fits(height) = calc.max(0, calc.floor(left / height))
  heading(level: 1)[Lines, as they are run]
  let shown = rows.len()
  if rows.len() <= fits(6.2mm) { lines-wide(rows, 6.2mm) } else if rows.len() <= fits(4.7mm) { lines-wide(rows, 4.7mm) } else if data.lines.degrees != "" {
    // In two columns where they hold all, else in three without the far ends: heading and length tell them.
    let columns = if rows.len() <= 2 * fits(4.4mm) { 2 } else { 3 }
    let each = calc.max(1, calc.min(calc.ceil(rows.len() / columns), fits(4.4mm)))
    shown = calc.min(rows.len(), columns * each)
    let height = calc.max(4.4mm, calc.min(6.2mm, left / each))
    grid(columns: columns * (1fr,), column-gutter: 3.5mm, ..range(columns).filter(i => i * each < shown).map(i => lines-narrow(rows.slice(i * each, calc.min(shown, (i + 1) * each)), height, columns)))
  } else {
    shown = fits(4.7mm)
    lines-wide(rows.slice(0, shown), 4.7mm)
  }
  block(above: 1.3mm, below: 0mm, text(size: 9pt)[#if shown < rows.len() [#text(weight: 600)[Runs #(shown + 1) to #rows.len() are not on this sheet: print a sheet for each sortie.] ]#data.linesNote])
}
#layout(size => {
  let words-height = measure(block(width: size.width, words-block)).height
  lines-block(size.height - words-height - 3mm)
  v(1fr)
  words-block
})
#context [#metadata((pages: counter(page).final().at(0))) <sheet>]
`;
