import { findName, findSize } from '../survey/finds-file.js';
import { base64 } from './base64.js';
import type { Block } from './document.js';
import { figures, heading, paragraph, table, words } from './document.js';
import { formatArea, formatCounted, formatMetres, formatPosition, formatShare } from './figures.js';
import type { ReportFinds, ReportInput } from './report-input.js';
import { FONT_ATTRIBUTE, mm } from './svg-text.js';
import { escapeXml } from './safe-text.js';

/** More finds than this are in the files alone. */
const FINDS_MAX = 60;
/** Pictures of one find, the first looks. */
const CHIPS_MAX = 3;
const CARD = { widthMm: 180, heightMm: 34 } as const;
const CHIP_MM = 32;
const LINE_MM = 4.4;

export const FINDS_CAUTION = 'Lifting or disturbing anything is for licensed people, under local rules. Wrecks, graves and habitat may be protected: report them and leave them as they are. Nothing here says that a place is clear.';

/** Finds as a contact sheet, and what the search may have missed; nothing where there was no side-scan. */
export function findsSection(input: ReportInput): Block[] {
  const { finds } = input;
  const { search } = input.summary;
  if (finds == null) return [];
  const listed = finds.file.finds.filter(({ state }) => state !== 'rejected');
  const rejected = finds.file.finds.length - listed.length;
  return [
    heading(1, 'Finds'),
    paragraph(FINDS_CAUTION, 'warning'),
    paragraph(
      `${formatCounted(listed.length, 'find')}${rejected > 0 ? `; ${formatCounted(rejected, 'more')} rejected by hand` : ''}. Positions are WGS 84 with the longest half-axis of their 95 % ellipse; sizes and heights with their 95 %. A proposed find has not been looked at by anyone; its confidence is reckoned from how often this floor gives as strong an echo and shadow by itself.`,
    ),
    ...listed.slice(0, FINDS_MAX).map((find) => card(find, finds)),
    ...(listed.length > FINDS_MAX ? [paragraph(`The other ${listed.length - FINDS_MAX} are in the files of finds.`, 'quiet')] : []),
    ...(search == null
      ? []
      : [
          heading(2, 'What may have been missed'),
          table(
            `Search for objects of ${formatMetres(search.objectM, 1)}`,
            [words('What', 1), figures('Value')],
            [
              ['Area', formatArea(search.areaM2)],
              ['Looked at once or more', formatShare(search.areaM2 === 0 ? 0 : search.searchedM2 / search.areaM2)],
              ['Chance that one there was found, mean over the area', formatShare(search.chanceMean)],
              ['Expected before the search', search.expectedBefore.toPrecision(2)],
              ['Expected to remain', search.expectedLeft.toPrecision(2)],
              ['Chance that at least one remains', formatShare(search.chanceLeft)],
            ],
            'Nothing was searched.',
          ),
          paragraph(`Lateral range curve: ${search.curveSource}. Looks: ${search.looks}.`, 'quiet'),
        ]),
  ];
}

function card(find: ReportFinds['file']['finds'][number], { file, chips }: ReportFinds): Block {
  const { major95M, size } = findSize(find);
  const seen = find.sightings.flatMap((id) => file.sightings.find((one) => one.id === id) ?? []);
  const pictures = seen.flatMap(({ chip }) => (chip === null ? [] : (chips.get(chip) ?? []))).slice(0, CHIPS_MAX);
  const name = findName(find);
  const state = find.state === 'confirmed' ? 'confirmed' : find.byHand ? 'marked by hand, not confirmed' : `proposed, confidence ${formatShare(find.confidence, 0)}`;
  const lines = [
    `${name}: ${state}`,
    `${formatPosition(find.latDeg, find.lonDeg)} ± ${formatMetres(major95M, 1)}`,
    size,
    `Seen ${formatCounted(find.passes, 'time')}${find.lines.length > 0 ? `, from ${find.lines.length === 1 ? 'line' : 'lines'} ${find.lines.join(', ')}` : ''}`,
    ...(find.description === '' ? [] : [cut(find.description)]),
  ];
  const left = CHIPS_MAX * (CHIP_MM + 1.5);
  const body = [
    ...pictures.map((bytes, k) => `<image x="${mm(k * (CHIP_MM + 1.5))}" y="1" width="${CHIP_MM}" height="${CHIP_MM}" href="data:image/png;base64,${base64(bytes)}"/>`),
    ...lines.map((text, k) => `<text x="${mm(left + 1)}" y="${mm(6 + k * LINE_MM * 1.3)}" font-size="${k === 0 ? 4 : 3.4}"${k === 0 ? ' font-weight="600"' : ''} fill="#1d1d1b">${escapeXml(text)}</text>`),
  ].join('');
  return {
    kind: 'figures',
    figures: [{ svg: `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${CARD.widthMm} ${CARD.heightMm}" ${FONT_ATTRIBUTE}>${body}</svg>`, ...CARD, alt: lines.join('; ') }],
    caption: `${name}. Each picture is 12.8 m a side, the track to its left, ahead is up.`,
  };
}

const LONGEST = 56;

function cut(text: string): string {
  return text.length <= LONGEST ? text : `${text.slice(0, LONGEST - 1)}…`;
}
