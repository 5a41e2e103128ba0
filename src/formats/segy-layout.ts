/**
 * Where things stand in a SEG-Y file. Byte numbers are those of the standard, from 1; trace fields count from the trace header's start,
 * file fields from the start of the file.
 *
 * Source: SEG Technical Standards Committee, SEG-Y revision 1 (2002), tables 1 to 3, and revision 2.0 (2017), the same tables and trace
 * header extension 1. The extension's bytes were held against two general-purpose libraries' tables that agree with one another, TGSAI/segy
 * (standards/rev2.py) and a MATLAB reader's, and against what equinor/segyio's issues 419 and 581 quote of the standard's
 * own text (samples at 137 to 140, nanoseconds at 141 to 144); the standard itself was not at hand.
 */

export const TEXT_BYTES = 3200;
export const FILE_HEAD_BYTES = 3600;
export const TRACE_HEAD_BYTES = 240;

/** File header fields. */
export const FILE = {
  tracesPerEnsemble: 3213,
  intervalUs: 3217,
  intervalOriginalUs: 3219,
  samples: 3221,
  samplesOriginal: 3223,
  format: 3225,
  sorting: 3229,
  measurement: 3255,
  /** Revision 2. */
  extendedSamples: 3269,
  extendedIntervalUs: 3273,
  byteOrder: 3297,
  revision: 3501,
  fixedLength: 3503,
  extraTextHeaders: 3505,
  extraTraceHeaders: 3507,
  timeBasis: 3511,
  traces: 3513,
  firstTraceAt: 3521,
} as const;

/** Trace header fields. */
export const TRACE = {
  sequenceLine: 1,
  sequenceFile: 5,
  fieldRecord: 9,
  traceNumber: 13,
  ensembleTrace: 25,
  identification: 29,
  dataUse: 35,
  sourceDepth: 49,
  waterDepthSource: 61,
  waterDepthGroup: 65,
  elevationScalar: 69,
  coordinateScalar: 71,
  sourceX: 73,
  sourceY: 77,
  groupX: 81,
  groupY: 85,
  coordinateUnits: 89,
  delay: 109,
  samples: 115,
  intervalUs: 117,
  year: 157,
  day: 159,
  hour: 161,
  minute: 163,
  second: 165,
  timeBasis: 167,
  weighting: 169,
  timeScalar: 215,
  /** Free in revision 1, the header's name in revision 2. */
  free: 233,
} as const;

/** Fields of the first trace header extension of revision 2, from its start: doubles but for samples (uint32), nanoseconds (int32), headers (uint16, this one among them). */
export const EXTENSION = { sourceX: 97, sourceY: 105, groupX: 113, groupY: 121, samples: 137, nanoseconds: 141, intervalUs: 145, moreHeaders: 157, name: 233 } as const;
/** Fields of our own extension, named OWN_NAME: what a side-scan ping carries that the standard has no place for. */
export const OWN = { headingDeg: 1, frequencyHz: 9, delayS: 17, heightM: 25, depthM: 33, name: 233 } as const;
export const STANDARD_NAME = 'SEG00000';
export const EXTENSION_NAME = 'SEG00001';
export const OWN_NAME = 'TALLOW01';
/** The line of the text header by which the free bytes 233 to 240 of revision 1 are known for ours. */
export const FREE_BYTES_LINE = 'TRACE BYTES 233 MICROSECONDS, 237 HEADING 0.01 DEG + 1, 239 100 HZ';

/** Sample formats by code: name and bytes. 4 (fixed point with gain) was withdrawn and is not read. */
export const FORMATS: Readonly<Record<number, { readonly name: string; readonly bytes: number }>> = {
  1: { name: 'IBM float', bytes: 4 },
  2: { name: 'int32', bytes: 4 },
  3: { name: 'int16', bytes: 2 },
  5: { name: 'IEEE float', bytes: 4 },
  6: { name: 'IEEE double', bytes: 8 },
  7: { name: 'int24', bytes: 3 },
  8: { name: 'int8', bytes: 1 },
  9: { name: 'int64', bytes: 8 },
  10: { name: 'uint32', bytes: 4 },
  11: { name: 'uint16', bytes: 2 },
  12: { name: 'uint64', bytes: 8 },
  15: { name: 'uint24', bytes: 3 },
  16: { name: 'uint8', bytes: 1 },
};
