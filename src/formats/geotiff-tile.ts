import { zlibSync } from 'fflate';

/** Samples a GeoTIFF can hold here; one type a file. */
export type TiffArray = Float32Array | Uint8Array | Uint16Array | Int16Array | Int32Array;
export type SampleType = 'float32' | 'uint8' | 'uint16' | 'int16' | 'int32';

/** What TIFF calls each sample type: SampleFormat 1 unsigned, 2 signed, 3 IEEE float; Predictor 2 differences, 3 float. */
export const SAMPLES = {
  float32: { bytes: 4, format: 3, predictor: 3 },
  uint8: { bytes: 1, format: 1, predictor: 2 },
  uint16: { bytes: 2, format: 1, predictor: 2 },
  int16: { bytes: 2, format: 2, predictor: 2 },
  int32: { bytes: 4, format: 2, predictor: 2 },
} as const;

/** @throws TypeError for an array of another type */
export function sampleTypeOf(values: TiffArray): SampleType {
  if (values instanceof Float32Array) return 'float32';
  if (values instanceof Uint8Array) return 'uint8';
  if (values instanceof Uint16Array) return 'uint16';
  if (values instanceof Int16Array) return 'int16';
  if (values instanceof Int32Array) return 'int32';
  throw new TypeError(`values: expected a float32, uint8, uint16, int16 or int32 array, found ${Object.prototype.toString.call(values)}`);
}

export function newSamples(type: SampleType, length: number): TiffArray {
  switch (type) {
    case 'float32': return new Float32Array(length);
    case 'uint8': return new Uint8Array(length);
    case 'uint16': return new Uint16Array(length);
    case 'int16': return new Int16Array(length);
    case 'int32': return new Int32Array(length);
  }
}

/**
 * A tile's samples as they stand in the file: predicted, then deflated (Compression 8).
 *
 * @param samples pixel-interleaved, shape [side * side * bands]; changed by this
 * @param level deflate effort 1..9
 * @param deflate into a zlib stream; the library's own when left out
 * Source: TIFF 6.0 section 14 (predictor 2); Adobe Photoshop TIFF Technical Note 3 (2005) (predictor 3, deflate).
 */
export function encodeTile(samples: TiffArray, side: number, bands: number, level: DeflateLevel, deflate?: (bytes: Uint8Array, level: DeflateLevel) => Uint8Array): Uint8Array {
  const predicted = samples instanceof Float32Array ? predictFloat(samples, side, bands) : predictWhole(samples, side, bands);
  return deflate ? deflate(predicted, level) : zlibSync(predicted, { level });
}

export type DeflateLevel = 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9;

/**
 * Predictor 3: each row's bytes sorted by significance, most significant first, then each byte less the one a pixel before.
 */
function predictFloat(samples: Float32Array, side: number, bands: number): Uint8Array {
  const rowValues = side * bands;
  const rowBytes = rowValues * 4;
  const bits = new Uint32Array(samples.buffer, samples.byteOffset, samples.length);
  const out = new Uint8Array(bits.length * 4);
  const second = rowValues;
  const third = rowValues * 2;
  const fourth = rowValues * 3;
  for (let row = 0; row < side; row++) {
    const from = row * rowValues;
    const to = row * rowBytes;
    for (let i = 0; i < rowValues; i++) {
      const value = bits[from + i]!;
      const at = to + i;
      out[at] = value >>> 24;
      out[at + second] = value >>> 16;
      out[at + third] = value >>> 8;
      out[at + fourth] = value;
    }
    for (let at = to + rowBytes - 1; at >= to + bands; at--) out[at] = out[at]! - out[at - bands]!;
  }
  return out;
}

/** Predictor 2: each sample less the same band's sample a pixel before, modulo the sample's width. */
function predictWhole(samples: Exclude<TiffArray, Float32Array>, side: number, bands: number): Uint8Array {
  const rowValues = side * bands;
  for (let row = 0; row < side; row++) {
    const start = row * rowValues;
    for (let at = start + rowValues - 1; at >= start + bands; at--) samples[at] = samples[at]! - samples[at - bands]!;
  }
  return new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength);
}
