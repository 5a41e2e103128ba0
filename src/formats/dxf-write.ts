import type { ByteSink } from '../base/byte-source.js';
import type { Polyline } from '../geo/shapes.js';

/** Contours for a drawing. */
export interface DxfContours {
  readonly depthM: ArrayLike<number>;
  readonly lines: readonly Polyline[];
  /** Every how many metres a contour is a major one [m]. */
  readonly majorM: number;
  /** Said at the head of the file, a line each. */
  readonly remarks: readonly string[];
}

/** Names of the two layers. */
export const DXF_LAYERS = { major: 'CONTOUR_MAJOR', minor: 'CONTOUR_MINOR' } as const;
const PIECE_CHARACTERS = 1 << 20;

/**
 * Contours as DXF R12 (AC1009), the plainest form: a polyline each, in frame metres, at its elevation (depth counted up, so 5 m deep
 * is -5), on a layer for major and one for minor contours. Equal input gives equal bytes.
 *
 * Source: the published DXF reference of R12: sections HEADER, TABLES, ENTITIES; POLYLINE group codes 8, 66, 70 and 10 to 30.
 */
export async function writeDxfContours(sink: ByteSink, { depthM, lines, majorM, remarks }: DxfContours): Promise<void> {
  const encoder = new TextEncoder();
  let text = '';
  const put = (code: number, value: string | number): void => {
    text += `${String(code).padStart(3)}\r\n${value}\r\n`;
  };
  for (const remark of remarks) put(999, plain(remark));
  const extent = extentOf(lines, depthM);
  put(0, 'SECTION');
  put(2, 'HEADER');
  put(9, '$ACADVER');
  put(1, 'AC1009');
  for (const [name, corner] of [['$EXTMIN', extent.low], ['$EXTMAX', extent.high]] as const) {
    put(9, name);
    corner.forEach((value, axis) => put(10 + 10 * axis, value.toFixed(3)));
  }
  put(0, 'ENDSEC');
  put(0, 'SECTION');
  put(2, 'TABLES');
  table(put, 'LTYPE', [() => { put(2, 'CONTINUOUS'); put(70, 0); put(3, 'Solid line'); put(72, 65); put(73, 0); put(40, '0.0'); }]);
  table(put, 'LAYER', ['0', DXF_LAYERS.major, DXF_LAYERS.minor].map((name, i) => () => { put(2, name); put(70, 0); put(62, [7, 5, 4][i]!); put(6, 'CONTINUOUS'); }));
  put(0, 'ENDSEC');
  put(0, 'SECTION');
  put(2, 'ENTITIES');
  for (const [i, line] of lines.entries()) {
    const depth = depthM[i] as number;
    const elevation = (depth === 0 ? 0 : -depth).toFixed(3);
    const share = depth / majorM;
    const layer = Math.abs(share - Math.round(share)) < 1e-6 ? DXF_LAYERS.major : DXF_LAYERS.minor;
    const last = line.length - 2;
    const isRing = line.length >= 8 && line[0] === line[last] && line[1] === line[last + 1];
    put(0, 'POLYLINE');
    put(8, layer);
    put(66, 1);
    put(70, isRing ? 1 : 0);
    put(10, '0.0');
    put(20, '0.0');
    put(30, elevation);
    for (let at = 0; at < (isRing ? last : line.length); at += 2) {
      put(0, 'VERTEX');
      put(8, layer);
      put(10, (line[at] as number).toFixed(3));
      put(20, (line[at + 1] as number).toFixed(3));
      put(30, elevation);
    }
    put(0, 'SEQEND');
    put(8, layer);
    if (text.length > PIECE_CHARACTERS) {
      await sink.write(encoder.encode(text));
      text = '';
    }
  }
  put(0, 'ENDSEC');
  put(0, 'EOF');
  await sink.write(encoder.encode(text));
}

function table(put: (code: number, value: string | number) => void, name: string, entries: readonly (() => void)[]): void {
  put(0, 'TABLE');
  put(2, name);
  put(70, entries.length);
  for (const entry of entries) {
    put(0, name);
    entry();
  }
  put(0, 'ENDTAB');
}

function extentOf(lines: readonly Polyline[], depthM: ArrayLike<number>): { readonly low: number[]; readonly high: number[] } {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  const take = (axis: number, value: number): void => {
    low[axis] = Math.min(low[axis]!, value);
    high[axis] = Math.max(high[axis]!, value);
  };
  lines.forEach((line, i) => {
    line.forEach((value, at) => take(at % 2, value));
    take(2, -(depthM[i] as number));
  });
  return lines.length === 0 ? { low: [0, 0, 0], high: [0, 0, 0] } : { low, high };
}

/** R12 knows no other letters than ASCII. */
function plain(text: string): string {
  return text.replace(/[^\x20-\x7e]/gu, '?');
}
