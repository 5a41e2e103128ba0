import type { LonLatLine } from '../geo/features.js';
import { degreesText } from './geojson-degrees.js';

const HEADER = 'number,kind,order,startLatDeg,startLonDeg,endLatDeg,endLonDeg,headingDeg,lengthM';

/**
 * Lines as CSV, one a row in the order given: the columns of the header, degrees to 1e-8, heading to 0.01 deg, length to
 * 0.01 m. Same lines, same bytes.
 * Source: RFC 4180 (comma, CRLF, quotes doubled).
 */
export function writeLinesCsv(lines: readonly LonLatLine[]): string {
  const rows = lines.map((line) =>
    [
      String(line.number),
      fieldText(line.kind),
      String(line.order),
      degreesText(line.startLatDeg, 8),
      degreesText(line.startLonDeg, 8),
      degreesText(line.endLatDeg, 8),
      degreesText(line.endLonDeg, 8),
      roundedHeadingText(line.headingDeg),
      line.lengthM.toFixed(2),
    ].join(','),
  );
  return [HEADER, ...rows, ''].join('\r\n');
}

function fieldText(text: string): string {
  return /[",\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
}

/** Two decimals, and 360.00 is 0.00. */
function roundedHeadingText(headingDeg: number): string {
  const text = headingDeg.toFixed(2);
  return text === '360.00' ? '0.00' : text;
}
