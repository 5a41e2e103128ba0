/** What a document in the report's look begins with: its inks, its name and day, the foot of each page, type and margins. */
export interface TypstHead {
  /** The file the program reads: ink, name, date, foot and families are in it. */
  readonly file: string;
  /** Of the page, and of lines and paragraphs, as the typesetter writes them. */
  readonly page: string;
  readonly leading: string;
  readonly spacing: string;
  readonly listSpacing: string;
}

/** The head of the typesetter's program for the report and the trial sheet. Names and values are data to it, never markup. */
export function typstHead({ file, page, leading, spacing, listSpacing }: TypstHead): string {
  return String.raw`
#let data = json("${file}")
#let ink = rgb(data.ink.ink)
#let quiet = rgb(data.ink.quiet)
#let hairline = rgb(data.ink.hairline)
#let accent = rgb(data.ink.accent)
#set document(
  title: data.name,
  date: if data.date == none { none } else { datetime(year: data.date.at(0), month: data.date.at(1), day: data.date.at(2)) },
)
#let foot = context {
  set text(size: 8pt, fill: quiet)
  grid(
    columns: (1fr, auto, 1fr),
    data.foot,
    text(fill: accent, weight: 600)[Not for navigation],
    align(right)[#counter(page).display() of #counter(page).final().at(0)],
  )
}
#set page(paper: "a4", ${page}, footer: foot)
#set text(font: data.families, stretch: 87.5%, size: 9.8pt, fill: ink, lang: "en", hyphenate: false, number-width: "tabular")
#set par(leading: ${leading}, spacing: ${spacing})
#set list(marker: text(fill: quiet)[–], spacing: ${listSpacing})
#show table.cell.where(y: 0): set text(fill: quiet, weight: 500)
`;
}
