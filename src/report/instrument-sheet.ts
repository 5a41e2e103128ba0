import { INK } from './ink.js';
import { INSTRUMENT_SHEET_TYPST } from './instrument-sheet-typst.js';
import { TYPESET_FAMILIES, typesetPdf } from './typeset.js';

/** What the sheet says of the settings as they stand. */
export interface InstrumentSheetInput {
  readonly name: string;
  readonly place: string;
  readonly draftM: number;
  readonly soundSpeedSetMps: number;
  readonly latencyS: number;
  readonly headingOffsetDeg: number;
  readonly sigmaM: number;
}

/**
 * A sheet to fill in on the day: bar check before and after, known mark, heading and latency lines, with how each is done.
 * One page of A4 and its back; equal input gives equal bytes.
 */
export function instrumentSheetPdf(input: InstrumentSheetInput): Promise<Uint8Array> {
  return typesetPdf({
    what: 'the instrument sheet',
    workspace: 'tallow-instrument-sheet',
    program: INSTRUMENT_SHEET_TYPST,
    archival: false,
    ready({ give, asText }) {
      give(
        'sheet.json',
        JSON.stringify({
          name: asText(input.name),
          place: asText(input.place),
          now: {
            draft: `${input.draftM.toFixed(3)} m`,
            speed: `${input.soundSpeedSetMps} m/s`,
            latency: `${input.latencyS} s`,
            heading: `${input.headingOffsetDeg} degrees`,
            sigma: `${input.sigmaM} m`,
          },
          families: TYPESET_FAMILIES,
          ink: INK,
        }),
      );
    },
  });
}
