/**
 * A report as a list of blocks: what it says, apart from how it is set. HTML and PDF are set from the same blocks, so they say
 * the same. Texts are plain: every renderer escapes them.
 */
export interface ReportDocument {
  readonly title: string;
  readonly subtitle: string;
  /** Figures of the title block. */
  readonly facts: readonly Fact[];
  /** UTC date of the last sounding, [year, month 1..12, day]; null where there is none. */
  readonly date: readonly [number, number, number] | null;
  readonly blocks: readonly Block[];
}

/** A figure with its name and what qualifies it. */
export interface Fact {
  readonly label: string;
  readonly value: string;
  readonly note?: string;
}

export type Block =
  | { readonly kind: 'heading'; readonly level: 1 | 2; readonly text: string; readonly id: string }
  | { readonly kind: 'paragraph'; readonly text: string; readonly tone: 'plain' | 'quiet' | 'warning' }
  | { readonly kind: 'list'; readonly items: readonly string[] }
  | { readonly kind: 'facts'; readonly rows: readonly Fact[] }
  | TableBlock
  | { readonly kind: 'figures'; readonly figures: readonly Figure[]; readonly caption: string }
  | { readonly kind: 'sheet'; readonly figure: Figure; readonly landscape: boolean; readonly caption: string };

export interface TableBlock {
  readonly kind: 'table';
  readonly caption: string;
  readonly columns: readonly TableColumn[];
  readonly rows: readonly (readonly string[])[];
}

/** A table of so many rows or fewer is kept on one page. */
export const WHOLE_ROWS = 18;

export interface TableColumn {
  readonly title: string;
  readonly align: 'left' | 'right';
  /** Share of the width that is left over; 0: as wide as its content, on one line. */
  readonly share: number;
  /** A hash: small, whole, never broken in print. */
  readonly hash?: boolean;
}

/** A drawing with its size in print. */
export interface Figure {
  readonly svg: string;
  readonly widthMm: number;
  readonly heightMm: number;
  /** What it shows, for those who cannot see it. */
  readonly alt: string;
}

export function heading(level: 1 | 2, text: string): Block {
  return { kind: 'heading', level, text, id: text.toLowerCase().replace(/[^a-z0-9]+/g, '-') };
}

export function paragraph(text: string, tone: 'plain' | 'quiet' | 'warning' = 'plain'): Block {
  return { kind: 'paragraph', text, tone };
}

/** A column of words. */
export function words(title: string, share = 1): TableColumn {
  return { title, align: 'left', share };
}

/** A column of figures. */
export function figures(title: string): TableColumn {
  return { title, align: 'right', share: 0 };
}

/** A table, or a sentence in its place where it has no rows. */
export function table(caption: string, columns: readonly TableColumn[], rows: readonly (readonly string[])[], whenEmpty: string): Block {
  return rows.length === 0 ? paragraph(whenEmpty) : { kind: 'table', caption, columns, rows };
}
