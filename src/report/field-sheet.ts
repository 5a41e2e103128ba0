import { civilFromDays } from '../base/time.js';
import { BEHAVIOUR_WORDS, MISHAP_CLAUSES, shareText, spanText } from '../rehearse/moment-words.js';
import type { LinkOutlook } from '../rehearse/rehearsal.js';
import type { Figure } from './document.js';
import { baseElsewhere, drawFieldChart, worstOfDay } from './field-sheet-chart.js';
import { sheetClock } from './field-sheet-clock.js';
import type { SheetClock } from './field-sheet-clock.js';
import { POINT_MM, wrappedLines } from './field-sheet-ink.js';
import type { FieldSheetInput } from './field-sheet-input.js';
import type { LineTable } from './field-sheet-lines.js';
import { lineTable } from './field-sheet-lines.js';
import { drawFieldStrip } from './field-sheet-strip.js';
import { FIELD_SHEET_TEMPLATE } from './field-sheet-template.js';
import type { KeyFigure, SortieRow } from './field-sheet-times.js';
import { dayFigures, daySpan, sortieRow } from './field-sheet-times.js';
import type { HazardLine, LostLine } from './field-sheet-words.js';
import { checksBeforeLaunch, hazardLines, lostLines, sentence, silentSteps } from './field-sheet-words.js';
import { formatCounted } from './figures.js';
import { fitText } from './fonts.js';
import { placeText } from './place-text.js';
import { visibleText } from './safe-text.js';
import { cautionsSection } from './section-record.js';

/** Paper and margins, A4 upright [mm]. */
const PAGE = { widthMm: 210, heightMm: 297, sideMm: 11, topMm: 9, bottomMm: 13 } as const;
const WIDTH_MM = PAGE.widthMm - 2 * PAGE.sideMm;
/** The left column of page two [mm], and lines in it for what the user wrote; one text is cut past so many characters. */
const COLUMN_MM = 96;
const CONTACT_LINES = 5;
const EMERGENCY_LINES = 6;
const OWN_LINE_CHARACTERS = 160;
/** Reasons under the verdict. */
const REASONS_MOST = 3;
/** More sorties than this are set small, in two columns beyond `SMALL_ROWS`. */
const LARGE_ROWS = 4;
const SMALL_ROWS = 8;
const SORTIES_MOST = 16;

/** What the sheet says, apart from how it is set; plain texts, which the typesetter reads as data. */
export interface FieldSheetData {
  readonly name: string;
  readonly place: string;
  readonly day: string;
  readonly zone: string;
  readonly boat: string;
  /** `GO`, `GO, IF` where there are conditions, `NO-GO`, `GO 1, 3 only`, or `GO in part` where more than three go and not all. */
  readonly verdict: string;
  readonly go: boolean;
  readonly reasons: readonly string[];
  readonly sorties: readonly SortieRow[];
  /** How the table of sorties is set. */
  readonly sortiesSet: 'large' | 'small' | 'columns';
  readonly sortiesNote: string;
  readonly figures: readonly KeyFigure[];
  readonly chartNote: string;
  readonly lines: LineTable;
  readonly linesNote: string;
  readonly hazards: readonly HazardLine[];
  readonly lost: readonly LostLine[];
  readonly silent: readonly string[];
  readonly checks: readonly string[];
  readonly contacts: readonly string[];
  readonly emergency: readonly string[];
  readonly cautions: readonly string[];
  /** UTC date of the first launch: [year, month, day]. */
  readonly date: readonly [number, number, number];
}

/** A field sheet ready to be set: `typst` is the typesetter's program, which reads `data` and the two figures. */
export interface FieldSheet {
  readonly typst: string;
  readonly data: FieldSheetData;
  readonly chart: Figure;
  readonly strip: Figure;
}

/**
 * The field sheet: paper for the beach, two pages A4 however many sorties. Page one is for the launch (verdict, times, chart,
 * the day against time), page two for the trip (lines, hazards, what happens if, what to do, checks, who to tell).
 *
 * Equal input gives equal text. Set it with `fieldSheetPdf`.
 *
 * @throws RangeError for no sortie, or a UTC offset outside -12 to 14 h
 */
export function fieldSheet(input: FieldSheetInput): FieldSheet {
  if (input.sorties.length === 0) throw new RangeError('field sheet: no sortie: expected one or more');
  const [startS] = daySpan(input);
  const clock = sheetClock(input.utcOffsetH, startS);
  const strip = drawFieldStrip(input, clock, WIDTH_MM, 11.6);
  const missing = strip.missing.length === 0 ? '' : `Not given, so not drawn: ${strip.missing.join(', ')}.`;
  const worst = worstOfDay(input);
  const worstNote = worst === null ? '' : `Worst moment, ${clock.both(worst.timeS)}: if ${MISHAP_CLAUSES[worst.mishap]}, ${clock.inText(worst.reason)}.`;
  const chartNote = [worstNote, baseElsewhere(input), missing].filter((part) => part !== '').join(' ');
  const data = sheetData(input, clock, startS, chartNote);
  const chart = drawFieldChart(input, clock, WIDTH_MM, chartHeightMm(data, strip.heightMm));
  return { typst: FIELD_SHEET_TEMPLATE, data, chart, strip };
}

function sheetData(input: FieldSheetInput, clock: SheetClock, startS: number, chartNote: string): FieldSheetData {
  const { sorties } = input;
  const rows = sorties.slice(0, SORTIES_MOST).map((one) => sortieRow(input, one, clock));
  const goes = sorties.filter(({ rehearsal }) => rehearsal.verdict.go);
  const conditional = sorties.some(({ rehearsal }) => rehearsal.verdict.concerns.some(({ weight }) => weight === 'condition'));
  const { year, month, day } = civilFromDays(Math.floor(startS / 86_400));
  const more = sorties.length - SORTIES_MOST;
  const routes = input.routeFiles ?? [];
  const linesNote = ['WGS 84, headings true, lengths in metres. Planned times are when the boat turns to the line.', routes.length === 0 ? '' : fitText(`For the autopilot: ${routesText(routes)}.`, 180, 9 * POINT_MM)];
  const cautions = cautionsSection().flatMap((block) => (block.kind === 'list' ? block.items : []));
  return {
    name: input.name,
    place: placeText(input.place, input.invented),
    day: clock.day,
    zone: clock.zone,
    boat: input.boatName,
    verdict: goes.length === sorties.length ? (conditional ? 'GO, IF' : 'GO') : goes.length === 0 ? 'NO-GO' : goes.length <= 3 ? `GO ${goes.map(({ sortie }) => sortie.number).join(', ')} only` : 'GO in part',
    go: goes.length === sorties.length && !conditional,
    reasons: reasonLines(input, clock),
    sorties: rows,
    sortiesSet: rows.length <= LARGE_ROWS ? 'large' : rows.length <= SMALL_ROWS ? 'small' : 'columns',
    sortiesNote: `Turn back by: the last time from which it gets home with its reserve, whatever is done by then. Back by: the planned end and its 95 %; after that it is overdue.${more > 0 ? ` ${formatCounted(more, 'more sortie')}: print a sheet of their own.` : ''}`,
    figures: dayFigures(input, clock),
    chartNote,
    lines: lineTable(input, clock),
    linesNote: linesNote.filter((part) => part !== '').join(' '),
    hazards: hazardLines(input, clock),
    lost: lostLines(input, clock),
    silent: silentSteps(input, clock),
    checks: checksBeforeLaunch(input),
    contacts: ownLines(input.contacts, CONTACT_LINES),
    emergency: ownLines(input.emergency, EMERGENCY_LINES),
    cautions,
    date: [year, month, day],
  };
}

/** Files alike but for their kind told once: `plan/routes/sortie-1 to 3 (gpx, kml)`. */
function routesText(files: readonly string[]): string {
  const stems = new Map<string, string[]>();
  for (const file of files) {
    const [, stem = file, kind = ''] = /^(.*)\.([^./]+)$/.exec(file) ?? [];
    stems.set(stem, [...(stems.get(stem) ?? []), kind]);
  }
  const alike = new Map<string, string[]>();
  for (const [stem, kinds] of stems) alike.set(kinds.join(', '), [...(alike.get(kinds.join(', ')) ?? []), stem]);
  return [...alike].map(([kinds, names]) => names.length === 1 && !kinds.includes(',') ? `${names[0]}${kinds === '' ? '' : `.${kinds}`}` : `${names.length === 1 ? names[0] : `${names[0]} to ${names[names.length - 1]!.replace(/^.*\D(?=\d+$)/, '')}`}${kinds === '' ? '' : ` (${kinds})`}`).join(', ');
}

/** Why it is no go, sortie by sortie; or on what conditions it goes; or what the tightest sortie is nearest to failing on. */
function reasonLines(input: FieldSheetInput, clock: SheetClock): string[] {
  const { sorties } = input;
  const label = (number: number): string => (sorties.length === 1 ? '' : `Sortie ${number}: `);
  const stopped = sorties.filter(({ rehearsal }) => !rehearsal.verdict.go);
  const conditional = sorties.filter(({ rehearsal }) => rehearsal.verdict.concerns[0]?.weight === 'condition');
  const told = stopped.length > 0 ? stopped : conditional.length > 0 ? conditional : [sorties.reduce((least, next) => (next.rehearsal.totals.energyLeftWh < least.rehearsal.totals.energyLeftWh ? next : least))];
  const shown = told.slice(0, told.length > REASONS_MOST ? REASONS_MOST - 1 : REASONS_MOST);
  const lines = shown.map(({ sortie, rehearsal }) => {
    const { link, verdict } = rehearsal;
    // A condition is told in full among the hazards; here what fits above the chart.
    const reason = stopped.length === 0 && link !== null && verdict.concerns[0]?.weight === 'condition' ? conditionLine(link, clock) : clock.inText(verdict.reason);
    return `${label(sortie.number)}${label(sortie.number) === '' ? sentence(reason) : reason}.`;
  });
  return shown.length < told.length ? [...lines, `${formatCounted(told.length - shown.length, 'more sortie')} ${stopped.length > 0 ? 'no go: see the table' : 'with conditions: see Hazards'}.`] : lines;
}

/** What is to be expected of the link, in a line. */
function conditionLine({ lostS, lostShare, stretches, actsS, linesBefore, behaviour }: LinkOutlook, clock: SheetClock): string {
  const lost = `link expected lost for ${spanText(lostS)} (${shareText(lostShare)}), first at ${clock.local(stretches[0]?.fromS ?? NaN)}`;
  return behaviour === 'carry-on' ? `${lost}; it carries on unseen: keep it in sight` : `${lost}; at ${clock.local(actsS)} it ${BEHAVIOUR_WORDS[behaviour]}, ${shareText(linesBefore)} of its lines run`;
}

/** What the user wrote, without empty lines, as far as it fits in so many lines of the left column; it says what was cut. */
function ownLines(lines: readonly string[], roomLines: number): string[] {
  const kept = lines.map((line) => visibleText(line).trim()).filter((line) => line !== '');
  const shown: string[] = [];
  let room = roomLines;
  for (const line of kept) {
    const characters = [...line];
    const text = characters.length <= OWN_LINE_CHARACTERS ? line : `${characters.slice(0, OWN_LINE_CHARACTERS - 1).join('')}…`;
    room -= wrappedLines(text, COLUMN_MM, 9.6, 500);
    /* The last line is kept for saying that there are more. */
    if (room < (shown.length + 1 < kept.length ? 1 : 0) && shown.length > 0) break;
    shown.push(text);
  }
  return shown.length < kept.length ? [...shown, `(${formatCounted(kept.length - shown.length, 'more line')} in the settings)`] : shown;
}

/**
 * What is left of page one for the chart [mm]. Heights are those of the template's first page; texts are wrapped by their
 * measured widths with a twentieth in hand. Were it a little too much after all, the template shrinks the chart.
 */
function chartHeightMm(data: FieldSheetData, stripMm: number): number {
  const reasons = data.reasons.reduce((sum, reason) => sum + wrappedLines(reason, WIDTH_MM - 56, 11, 500), 0);
  const verdictMm = Math.max(15, reasons * 4.8 + 2);
  const rows = data.sortiesSet === 'columns' ? Math.ceil(data.sorties.length / 2) : data.sorties.length;
  const tableMm = 6 + rows * (data.sortiesSet === 'large' ? 9.6 : 4.5) + 1 + 4 * wrappedLines(data.sortiesNote, WIDTH_MM, 9, 400);
  const notesMm = data.chartNote === '' ? 1 : 1.6 + 4 * wrappedLines(data.chartNote, WIDTH_MM, 9, 400);
  const left = PAGE.heightMm - PAGE.topMm - PAGE.bottomMm - 15 - verdictMm - tableMm - 17 - stripMm - notesMm - 4;
  return Math.max(62, Math.floor(left));
}
