/**
 * Vertical datums by their code in S-102: IHO GI Registry, attribute vertical datum; codes 1 to 30 are those of S-57 VERDAT.
 * S-102 3.0.0, table of root attributes, allows 1 to 41 and 43 to 46.
 */
export const S102_DATUMS: readonly (readonly [code: number, name: string, ...short: string[]])[] = [
  [1, 'mean low water springs', 'mlws'],
  [2, 'mean lower low water springs', 'mllws'],
  [3, 'mean sea level', 'msl'],
  [4, 'lowest low water'],
  [5, 'mean low water', 'mlw'],
  [6, 'lowest low water springs'],
  [7, 'approximate mean low water springs'],
  [8, 'indian spring low water', 'islw'],
  [9, 'low water springs'],
  [10, 'approximate lowest astronomical tide'],
  [11, 'nearly lowest low water'],
  [12, 'mean lower low water', 'mllw'],
  [13, 'low water'],
  [14, 'approximate mean low water'],
  [15, 'approximate mean lower low water'],
  [16, 'mean high water', 'mhw'],
  [17, 'mean high water springs', 'mhws'],
  [18, 'high water'],
  [19, 'approximate mean sea level'],
  [20, 'high water springs'],
  [21, 'mean higher high water', 'mhhw'],
  [22, 'equinoctial spring low water'],
  [23, 'lowest astronomical tide', 'lat'],
  [24, 'local datum'],
  [25, 'international great lakes datum 1985', 'igld 1985'],
  [26, 'mean water level'],
  [27, 'lower low water large tide', 'llwlt'],
  [28, 'higher high water large tide', 'hhwlt'],
  [29, 'nearly highest high water'],
  [30, 'highest astronomical tide', 'hat'],
  [44, 'baltic sea chart datum 2000', 'bscd2000'],
];

/** S-102 has no code for a datum that is not known; this one says it is the survey's own. */
export const LOCAL_DATUM = 24;

/** Whether S-102 3.0.0 allows a code. */
export function isS102DatumCode(code: number): boolean {
  return Number.isInteger(code) && ((code >= 1 && code <= 41) || (code >= 43 && code <= 46));
}

/**
 * The code of a datum named in words, by its whole name or usual short form alone, whatever the case: `Lowest Astronomical Tide (LAT)`.
 * A name with anything more in it gives null: a local datum is not to pass for a known one.
 */
export function s102DatumCode(words: string): number | null {
  const plain = (text: string): string => text.toLowerCase().replace(/[^a-z0-9]+/g, ' ').trim();
  const whole = plain(words);
  for (const [code, name, ...short] of S102_DATUMS) {
    const names = [name, ...short, ...short.flatMap((each) => [`${name} ${each}`, `${each} ${name}`])].map(plain);
    if (names.includes(whole)) return code;
  }
  return null;
}

/** A code in words. */
export function s102DatumName(code: number): string {
  return S102_DATUMS.find(([known]) => known === code)?.[1] ?? `vertical datum ${code} of the IHO registry`;
}
