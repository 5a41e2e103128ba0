import { FORMATS } from './segy-layout.js';

/**
 * Samples of a trace as numbers, written into `out` from `outAt`. 32- and 64-bit integers beyond 2^24 are rounded to float32; what is
 * infinite becomes NaN.
 *
 * @param code one of FORMATS
 * @param scale what each is multiplied by, 1 mostly
 * Source: SEG-Y revision 2.0, table of sample formats and the IBM float appendix: sign, 7 bits of exponent to base 16 less 64, 24 bits of fraction.
 */
export function decodeSamples(view: DataView, at: number, n: number, code: number, little: boolean, out: Float32Array, outAt: number, scale: number): void {
  switch (code) {
    case 1:
      for (let i = 0; i < n; i++) out[outAt + i] = fromIbm(view.getUint32(at + 4 * i, little));
      break;
    case 2:
      for (let i = 0; i < n; i++) out[outAt + i] = view.getInt32(at + 4 * i, little);
      break;
    case 3:
      for (let i = 0; i < n; i++) out[outAt + i] = view.getInt16(at + 2 * i, little);
      break;
    case 5:
      for (let i = 0; i < n; i++) out[outAt + i] = view.getFloat32(at + 4 * i, little);
      break;
    case 6:
      for (let i = 0; i < n; i++) out[outAt + i] = view.getFloat64(at + 8 * i, little);
      break;
    case 7:
      for (let i = 0; i < n; i++) out[outAt + i] = (uint24(view, at + 3 * i, little) << 8) >> 8;
      break;
    case 8:
      for (let i = 0; i < n; i++) out[outAt + i] = view.getInt8(at + i);
      break;
    case 9:
      for (let i = 0; i < n; i++) out[outAt + i] = Number(view.getBigInt64(at + 8 * i, little));
      break;
    case 10:
      for (let i = 0; i < n; i++) out[outAt + i] = view.getUint32(at + 4 * i, little);
      break;
    case 11:
      for (let i = 0; i < n; i++) out[outAt + i] = view.getUint16(at + 2 * i, little);
      break;
    case 12:
      for (let i = 0; i < n; i++) out[outAt + i] = Number(view.getBigUint64(at + 8 * i, little));
      break;
    case 15:
      for (let i = 0; i < n; i++) out[outAt + i] = uint24(view, at + 3 * i, little);
      break;
    case 16:
      for (let i = 0; i < n; i++) out[outAt + i] = view.getUint8(at + i);
      break;
    default:
      throw new RangeError(`sample format ${code}: expected one of ${Object.keys(FORMATS).join(', ')}`);
  }
  if (scale !== 1) for (let i = outAt; i < outAt + n; i++) out[i] = (out[i] as number) * scale;
  // Infinite, or beyond what a float32 holds: no echo, so no data.
  if (isReal(code)) for (let i = outAt; i < outAt + n; i++) if (!Number.isFinite(out[i])) out[i] = NaN;
}

const isReal = (code: number): boolean => code === 1 || code === 5 || code === 6;

function uint24(view: DataView, at: number, little: boolean): number {
  const [low, high] = little ? [0, 2] : [2, 0];
  return (view.getUint8(at + high) << 16) | (view.getUint8(at + 1) << 8) | view.getUint8(at + low);
}

function fromIbm(bits: number): number {
  const fraction = bits & 0xff_ffff;
  if (fraction === 0) return 0;
  const value = (fraction / 0x100_0000) * 16 ** (((bits >>> 24) & 0x7f) - 64);
  return bits >>> 31 === 1 ? -value : value;
}

/** A number as IBM float bits; rounded to the 21 to 24 bits that it holds. NaN becomes 0, what is too large the largest. */
export function toIbm(value: number): number {
  if (!(value !== 0)) return 0;
  const sign = value < 0 ? 0x8000_0000 : 0;
  const size = Math.abs(value);
  if (size === 0 || Number.isNaN(size)) return 0;
  let exponent = Math.ceil(Math.log2(size) / 4);
  let fraction = Math.round((size / 16 ** exponent) * 0x100_0000);
  if (fraction >= 0x100_0000) {
    exponent++;
    fraction = Math.round((size / 16 ** exponent) * 0x100_0000);
  }
  if (exponent < -64) return 0;
  if (exponent > 63 || !Number.isFinite(size)) return (sign | 0x7fff_ffff) >>> 0;
  return (sign | ((exponent + 64) << 24) | fraction) >>> 0;
}

const INTEGER_LIMITS: Readonly<Record<number, readonly [number, number]>> = {
  2: [-2_147_483_648, 2_147_483_647], 3: [-32_768, 32_767], 7: [-8_388_608, 8_388_607], 8: [-128, 127], 9: [-(2 ** 53), 2 ** 53],
  10: [0, 4_294_967_295], 11: [0, 65_535], 12: [0, 2 ** 53], 15: [0, 16_777_215], 16: [0, 255],
};

/**
 * Writes samples in a format of FORMATS. Integers are rounded; what does not fit is held at the limit, NaN is written as 0 (kept in IEEE floats).
 * @returns how many were held at a limit
 */
export function encodeSamples(view: DataView, at: number, n: number, code: number, little: boolean, from: Float32Array, fromAt: number): number {
  const limits = INTEGER_LIMITS[code];
  let held = 0;
  for (let i = 0; i < n; i++) {
    let value = from[fromAt + i] as number;
    if (limits !== undefined) {
      value = Number.isNaN(value) ? 0 : Math.round(value);
      if (value < limits[0] || value > limits[1]) {
        held++;
        value = value < limits[0] ? limits[0] : limits[1];
      }
    }
    switch (code) {
      case 1: view.setUint32(at + 4 * i, toIbm(value), little); break;
      case 2: view.setInt32(at + 4 * i, value, little); break;
      case 3: view.setInt16(at + 2 * i, value, little); break;
      case 5: view.setFloat32(at + 4 * i, value, little); break;
      case 6: view.setFloat64(at + 8 * i, value, little); break;
      case 7:
      case 15: {
        const bits = value & 0xff_ffff;
        view.setUint8(at + 3 * i + (little ? 0 : 2), bits & 255);
        view.setUint8(at + 3 * i + 1, (bits >> 8) & 255);
        view.setUint8(at + 3 * i + (little ? 2 : 0), bits >> 16);
        break;
      }
      case 8: view.setInt8(at + i, value); break;
      case 9: view.setBigInt64(at + 8 * i, BigInt(value), little); break;
      case 10: view.setUint32(at + 4 * i, value, little); break;
      case 11: view.setUint16(at + 2 * i, value, little); break;
      case 12: view.setBigUint64(at + 8 * i, BigInt(value), little); break;
      case 16: view.setUint8(at + i, value); break;
      default: throw new RangeError(`sample format ${code}: expected one of ${Object.keys(FORMATS).join(', ')}`);
    }
  }
  return held;
}
