/** The typesetter's program for the sheet of instrument checks: fixed text that reads sheet.json. Names are data to it, never markup. */
export const INSTRUMENT_SHEET_TYPST = String.raw`
#let data = json("sheet.json")
#let ink = rgb(data.ink.ink)
#let quiet = rgb(data.ink.quiet)
#let hairline = rgb(data.ink.hairline)
#let accent = rgb(data.ink.accent)
#set document(title: data.name, date: none)
#let foot = context {
  set text(size: 8pt, fill: quiet)
  grid(columns: (1fr, auto, 1fr), [Instrument checks], text(fill: accent, weight: 600)[Not for navigation], align(right)[#counter(page).display() of #counter(page).final().at(0)])
}
#set page(paper: "a4", margin: (x: 15mm, top: 12mm, bottom: 15mm), footer: foot, footer-descent: 4mm)
#set text(font: data.families, stretch: 87.5%, size: 9.6pt, fill: ink, lang: "en", hyphenate: false, number-width: "tabular")
#set par(leading: 0.5em, spacing: 0.7em)
#show heading.where(level: 1): it => block(above: 1.1em, below: 0.6em, sticky: true, breakable: false, width: 100%)[
  #line(length: 100%, stroke: 0.3mm + ink)
  #v(-0.1em)
  #text(size: 13pt, weight: 600, it.body)
]
#let blank(name, value: "", width: 1fr) = [
  #text(size: 8.4pt, fill: quiet, name)
  #block(above: 0.6mm, below: 0mm, width: 100%, height: 6mm, stroke: (bottom: 0.25mm + ink), inset: (y: 1mm), align(bottom, text(weight: 600, value)))
]
#let boxes(columns, head, rows) = table(
  columns: columns,
  align: left + horizon,
  stroke: 0.2mm + quiet,
  inset: (x: 1.5mm, y: 1.4mm),
  table.header(..head.map(one => text(size: 8.4pt, fill: quiet, one))),
  ..rows.flatten().map(one => box(height: 6.4mm, align(horizon, one)))
)
#grid(columns: (1fr, auto), align: (left + bottom, right + bottom),
  [
    #block(below: 0.5em, text(fill: quiet)[Instrument checks, before and after the day])
    #block(below: 0.5em, title(text(size: 20pt, weight: 600, data.name)))
    #if data.place != "" { text(size: 11pt, data.place) }
  ],
  text(size: 12pt, weight: 600, fill: accent)[Not for navigation])
#v(1mm)
#line(length: 100%, stroke: 0.5mm + ink)
#grid(columns: (1fr, 1fr, 1fr, 1fr), column-gutter: 5mm, blank[Date], blank[Boat], blank[Who], blank[Sea and wind])

= Bar check
#text(size: 8.8pt)[Hang a flat plate level under the transducer on a marked line, in still water, at three depths or more, the deepest near the deepest water to be surveyed. Write the depth of the plate *below the water surface* and what the sounder reads *below the transducer*, three readings at each. Draft set now: #data.now.draft; sound speed the sounder is set to: #data.now.speed. Keep hands and line clear of the thrusters; switch them off first.]
#v(1mm)
#grid(columns: (1fr, 1fr), column-gutter: 6mm,
  [#grid(columns: (auto, 1fr), column-gutter: 3mm, align: bottom, text(weight: 600)[Before, UTC], blank[]) #v(1mm)
   #boxes((1.2fr, 1fr, 1fr, 1fr), ([Plate m], [Reading 1], [2], [3]), range(6).map(i => ([], [], [], [])))],
  [#grid(columns: (auto, 1fr), column-gutter: 3mm, align: bottom, text(weight: 600)[After, UTC], blank[]) #v(1mm)
   #boxes((1.2fr, 1fr, 1fr, 1fr), ([Plate m], [Reading 1], [2], [3]), range(6).map(i => ([], [], [], [])))])

= Known mark
#text(size: 8.8pt)[Set the antenna over a mark whose position is known to a few centimetres, logging, for five minutes or more, and leave it alone; a second time after the survey shows whether anything drifted. Position noise reckoned with now: #data.now.sigma, one sigma.]
#v(1mm)
#boxes((1.3fr, 1.2fr, 1.2fr, 1fr, 1fr), ([Mark], [Latitude], [Longitude], [From, UTC], [To, UTC]), range(2).map(i => ([], [], [], [], [])))

#pagebreak()
= Heading
#text(size: 8.8pt)[Run one straight line of 50 m or more there and back, twice, at survey speed, on two headings that differ by about 90 degrees, where the current is weak or along the line. The offset is half the sum of what each way shows; the current falls out. Taken off now: #data.now.heading.]
#v(1mm)
#boxes((0.6fr, 1fr, 1fr, 1fr, 2fr), ([Run], [Course], [Start, UTC], [End, UTC], [What was seen]), range(8).map(i => ([#(i + 1)], [], [], [], [])))

= Latency
#text(size: 8.8pt)[Choose a line over a slope (a bank, the edge of a channel), 40 m or longer, the steeper the better. Run it there and back on the same track, four times or more, at survey speed or faster. Positions that lag shift the slope forward one way and back the other: twice speed times latency. Corrected now: #data.now.latency.]
#v(1mm)
#boxes((0.6fr, 1fr, 1fr, 1fr, 1fr, 1.6fr), ([Run], [Way], [Start, UTC], [End, UTC], [Speed m/s], [What was seen]), range(8).map(i => ([#(i + 1)], [], [], [], [], [])))

= Afterwards
#text(size: 9pt)[
  Type the bar readings into a file with the columns _timeUtc, barM, readM_ and give it, with the logs of the day, to Tallow: \
  #raw("tallow instruments FOLDER --bar bar.csv --mark LAT,LON=START/END") \
  Each check comes back as a value with its uncertainty, to be applied or refused with a reason.
]
#v(2mm)
#text(size: 8.4pt, fill: quiet)[Notes]
#for i in range(5) { block(above: 0mm, below: 0mm, height: 8mm, width: 100%, stroke: (bottom: 0.25mm + quiet)) }
`;
