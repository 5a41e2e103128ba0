import { formatUtcDate } from '../base/time.js';
import type { Frame } from '../geo/frame.js';
import { LOCAL_DATUM, s102DatumCode, s102DatumName } from '../formats/s102-datum.js';
import { programVersion } from './report-input.js';
import type { StepWork } from './step-graph.js';
import type { PlacedSoundings } from './soundings-file.js';
import { depthsBelow, isReducedToDatum } from '../water/depth-datum.js';

/** First and last time of the good soundings [s]; NaN where there is none. */
export function surveyedSpan({ n, timeS, reason }: PlacedSoundings): readonly [startS: number, endS: number] {
  let [first, last] = [Infinity, -Infinity];
  for (let i = 0; i < n; i++) {
    if (reason[i] !== 0) continue;
    const time = timeS[i] as number;
    if (time < first) first = time;
    if (time > last) last = time;
  }
  return first <= last ? [first, last] : [NaN, NaN];
}

/** The datum's code in S-102: as set, else by its name, else that of a local datum; and what to say of it. */
export function datumCode(work: StepWork): { readonly code: number; readonly words: string } {
  const { datum, products } = work.settings;
  if (products.verticalDatumCode !== null) return { code: products.verticalDatumCode, words: `${products.verticalDatumCode}, ${s102DatumName(products.verticalDatumCode)}, as set` };
  // A datum that depths are not reduced to is not theirs, however well known.
  if (!isReducedToDatum(work.settings)) return { code: LOCAL_DATUM, words: `${LOCAL_DATUM}, local datum: no water level is taken off, so depths are below the water surface of the day` };
  const code = s102DatumCode(datum);
  if (code !== null) return { code, words: `${code}, ${s102DatumName(code)}, by its name` };
  return { code: LOCAL_DATUM, words: `${LOCAL_DATUM}, local datum: "${datum}" is not the name of a datum in the IHO registry, so which one it is is not known; set products.verticalDatumCode where it has a code there` };
}

/** What every product that has room says of itself, a line each. */
export async function provenanceLines(work: StepWork, frame: Frame | null, span: readonly [number, number]): Promise<string[]> {
  const { settings } = work;
  return [
    `${settings.name}. NOT FOR NAVIGATION.`,
    ...(settings.invented ? ['The place and the data are invented.'] : []),
    `Depths in metres below ${depthsBelow(settings)}, positive down; uncertainties 95 %; times UTC.`,
    ...(frame === null ? [] : [`Positions in WGS 84 / ${frame.label}, EPSG:${frame.epsg}.`]),
    ...(Number.isNaN(span[0]) ? [] : [`Surveyed ${formatUtcDate(span[0])} to ${formatUtcDate(span[1])}; IHO S-44 order aimed at: ${settings.order}.`]),
    `Made by tallow ${await programVersion()} from:`,
    ...work.logs.map(({ file, sha256 }) => `logs/${file} sha-256 ${sha256}`),
  ];
}
